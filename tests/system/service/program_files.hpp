// SPDX-License-Identifier: MIT
#pragma once

#include "support/temporary_directory.hpp"

#include <fstream>
#include <string>

#include <sys/stat.h>

namespace nightlatch::test {

/// A pontoon's configuration, quick enough for a test in real time; `button`: more of its keys.
inline std::string quick_config(const std::string& button = {}) {
    return R"([button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"
debounce = "20 ms"
)" + button +
           R"(
[[stage]]
name = "off"
hold = "300 ms"
action = "power-off"
)";
}

/// What a program is given, in a folder of its own; nobody else may write it.
class ProgramFiles {
public:
    /// Gives the file's path, which not everybody needs. NOLINTNEXTLINE(modernize-use-nodiscard)
    std::string write(const std::string& name, const std::string& text) const {
        std::string to = path(name);
        std::ofstream(to) << text;
        chmod(to.c_str(), S_IRUSR | S_IWUSR);
        return to;
    }

    [[nodiscard]] std::string path(const std::string& name) const { return folder() + "/" + name; }

    [[nodiscard]] const std::string& folder() const { return folder_.path(); }

private:
    TemporaryDirectory folder_;
};

}  // namespace nightlatch::test
