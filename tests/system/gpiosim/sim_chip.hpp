// SPDX-License-Identifier: MIT
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::test {

/// A line of a simulated chip.
struct SimLine {
    std::string name;
    std::string hog{};  ///< a holder inside the kernel, by this name
};

/// A chip of the kernel's own simulator, made through configfs
/// [linux Documentation/admin-guide/gpio/gpio-sim.rst]. Needs root and CONFIG_GPIO_SIM.
class SimChip {
public:
    /// Whether this kernel has the simulator, and configfs is mounted where it is expected.
    static bool possible();

    /// `id`: unique among simulated chips. Aborts when the kernel refuses.
    SimChip(const std::string& id, const std::string& label, const std::vector<SimLine>& lines);
    ~SimChip();
    SimChip(const SimChip&) = delete;
    SimChip& operator=(const SimChip&) = delete;

    /// The kernel's name of the chip, "gpiochip1"; another one after it came back, perhaps.
    [[nodiscard]] const std::string& name() const noexcept { return name_; }

    void appear();
    void vanish();

    /// The simulated wire's level; an edge if it changes. Allocates nothing: for storms, in a fork.
    void pull(unsigned line, bool up) const;
    /// "pull-up" or "pull-down": what the wire is, or was made by a bias.
    [[nodiscard]] std::string pulled(unsigned line) const;
    /// What a line that is driven is driven to.
    [[nodiscard]] bool driven_high(unsigned line) const;

private:
    std::string home_;
    std::vector<SimLine> lines_;
    std::string name_;
    std::vector<std::string> sysfs_;
    std::vector<int> pulls_;
};

}  // namespace nightlatch::test
