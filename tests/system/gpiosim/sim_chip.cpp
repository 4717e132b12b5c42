// SPDX-License-Identifier: MIT
#include "system/gpiosim/sim_chip.hpp"

#include "base/ensure.hpp"

#include <string_view>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace nightlatch::test {
namespace {

const std::string simulator = "/sys/kernel/config/gpio-sim";

void write_to(const std::string& path, std::string_view text) {
    const int file = open(path.c_str(), O_WRONLY | O_CLOEXEC);
    NIGHTLATCH_ENSURE(file >= 0);
    NIGHTLATCH_ENSURE(write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size()));
    close(file);
}

std::string read_from(const std::string& path) {
    const int file = open(path.c_str(), O_RDONLY | O_CLOEXEC);
    NIGHTLATCH_ENSURE(file >= 0);
    char text[256] = {};
    const ssize_t got = read(file, text, sizeof text);
    NIGHTLATCH_ENSURE(got >= 0);
    close(file);
    std::string line(text, static_cast<std::size_t>(got));
    return line.substr(0, line.find('\n'));
}

void make(const std::string& directory) {
    NIGHTLATCH_ENSURE(mkdir(directory.c_str(), 0755) == 0);
}

}  // namespace

bool SimChip::possible() {
    return access(simulator.c_str(), W_OK) == 0;
}

SimChip::SimChip(const std::string& id, const std::string& label, const std::vector<SimLine>& lines)
    : home_(simulator + "/" + id), lines_(lines) {
    make(home_);
    make(home_ + "/bank");
    write_to(home_ + "/bank/num_lines", std::to_string(lines_.size()));
    write_to(home_ + "/bank/label", label);
    for (std::size_t i = 0; i < lines_.size(); ++i) {
        const std::string line = home_ + "/bank/line" + std::to_string(i);
        make(line);
        if (!lines_[i].name.empty()) {  // configfs answers EFAULT to an empty write
            write_to(line + "/name", lines_[i].name);
        }
        if (!lines_[i].hog.empty()) {
            make(line + "/hog");
            write_to(line + "/hog/name", lines_[i].hog);
            write_to(line + "/hog/direction", "input");
        }
    }
    appear();
}

SimChip::~SimChip() {
    vanish();
    for (std::size_t i = 0; i < lines_.size(); ++i) {
        const std::string line = home_ + "/bank/line" + std::to_string(i);
        if (!lines_[i].hog.empty()) {
            rmdir((line + "/hog").c_str());
        }
        rmdir(line.c_str());
    }
    rmdir((home_ + "/bank").c_str());
    rmdir(home_.c_str());
}

void SimChip::appear() {
    write_to(home_ + "/live", "1");
    name_ = read_from(home_ + "/bank/chip_name");
    const std::string chip =
        "/sys/devices/platform/" + read_from(home_ + "/dev_name") + "/" + name_ + "/sim_gpio";
    for (std::size_t i = 0; i < lines_.size(); ++i) {
        sysfs_.push_back(chip + std::to_string(i));
        pulls_.push_back(open((sysfs_.back() + "/pull").c_str(), O_WRONLY | O_CLOEXEC));
        NIGHTLATCH_ENSURE(pulls_.back() >= 0);
    }
}

void SimChip::vanish() {
    for (const int pull : pulls_) {
        close(pull);
    }
    if (!pulls_.empty()) {
        write_to(home_ + "/live", "0");
    }
    pulls_.clear();
    sysfs_.clear();
}

void SimChip::pull(unsigned line, bool up) const {
    const std::string_view text = up ? "pull-up" : "pull-down";
    NIGHTLATCH_ENSURE(pwrite(pulls_.at(line), text.data(), text.size(), 0) ==
                      static_cast<ssize_t>(text.size()));
}

std::string SimChip::pulled(unsigned line) const {
    return read_from(sysfs_.at(line) + "/pull");
}

bool SimChip::driven_high(unsigned line) const {
    return read_from(sysfs_.at(line) + "/value") == "1";
}

}  // namespace nightlatch::test
