// SPDX-License-Identifier: MIT
// Prints what the object answers to Introspect, on a bus of its own.
#include "system/object/followed.hpp"

#include <cstdio>

using namespace nightlatch::test;

int main() {
    Followed followed;
    followed.start();
    Client client(followed.loop->raw());
    client.call("org.freedesktop.DBus.Introspectable", "Introspect");
    if (!followed.await([&] { return !client.answers.empty(); }) || !client.answers[0].empty()) {
        std::fputs("introspect_probe: no answer\n", stderr);
        return 1;
    }
    std::puts(client.texts[0].c_str());
    return 0;
}
