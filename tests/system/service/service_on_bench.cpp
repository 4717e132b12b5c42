// SPDX-License-Identifier: MIT
// service_on_bench CONFIG FOLDER: the whole service on a chip in memory. In the folder are
// "button", a FIFO that presses (p) and releases (r) it, "journal", a socket, and "leds".
#include "daemon/service/service.hpp"
#include "support/fake_gpiod.hpp"

#include <cstdio>
#include <optional>

#include <fcntl.h>
#include <unistd.h>

using namespace nightlatch;

int main(int argc, char** argv) {
    if (argc != 3) {
        std::fprintf(stderr, "usage: service_on_bench CONFIG FOLDER\n");
        return 64;
    }
    const std::string folder = argv[2];
    test::FakeGpio gpio;
    test::FakeLine& line = gpio.add(0, "soc-gpio", {"LID_BUTTON"}).lines[0];
    line.high = true;
    const int button = open((folder + "/button").c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    std::optional<sys::FdWatch> hand;

    service::World world;
    world.gpio = gpio.places();
    world.leds = folder + "/leds";
    world.journal_socket = folder + "/journal";
    world.trust = sys::TrustPolicy::anybody;
    world.beside = [&](sys::EventLoop& loop) {
        hand.emplace(loop.fd_watch([&](sys::FdReady) {
            char what = 0;
            if (read(button, &what, 1) == 1) {
                gpio.edge(line, what == 'r', loop.now());
            } else {
                hand->stop();
            }
        }));
        static_cast<void>(hand->start(button));
    };
    service::Options options;
    options.config = argv[1];
    return service::run_service(options, world);
}
