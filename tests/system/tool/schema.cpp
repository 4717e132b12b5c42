// SPDX-License-Identifier: MIT
#include "schema.hpp"

#include "desk.hpp"

namespace nightlatch::test {
namespace {

std::string validated(const std::string& how, const std::string& name, const std::string& objects) {
    const Desk desk;
    const std::string command = name.substr(0, name.find('-'));
    const std::string schema =
        TREE "/daemon/tool/" + command + "/nightlatch-" + name + ".schema.json";
    const std::string file = desk.file("objects", objects);
    const std::string said = desk.path("said");
    const int ended = std::system((PYTHON " " TREE "/tests/system/tool/against_schema.py " + how +
                                   schema + " " + file + " >" + said + " 2>&1")
                                      .c_str());
    const std::string why = content(said);
    return ended == 0 ? "" : why.empty() ? "the validator failed" : why;
}

}  // namespace

std::string against_schema(const std::string& name, const std::string& objects) {
    return validated("", name, objects);
}

std::string spoiled_against_schema(const std::string& name, const std::string& objects) {
    return validated("--spoil ", name, objects);
}

}  // namespace nightlatch::test
