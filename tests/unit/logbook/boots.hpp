// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/write.hpp"
#include "unit/logbook/crash_disk.hpp"

#include <set>
#include <string>
#include <vector>

namespace nightlatch::test {

/// How the machine before ended in truth, and what is heard of it.
enum class Before : unsigned char {
    clean,
    crashed,            ///< the initramfs's check recovers the root, the kernel has nothing to say
    crashed_not_heard,  ///< of the check nothing can be read
    crashed_kernel_only,  ///< a reader that looks at the kernel's log alone: a mistake
};

/// Boots of one machine, with what was confirmed to it and what is true of it.
class Boots {
public:
    /// A run's start, what a person witnessed after run 1, the run's end, the unmount. Returns
    /// false once the supply is gone.
    bool boot(CrashDisk& disk, ports::Disk& calls, Before before);

    /// What is wrong with the logbook on the disk, by all that was confirmed: a sentence, or "".
    [[nodiscard]] std::string wrong(ports::Disk& disk) const;

    [[nodiscard]] unsigned count() const { return boots_; }

    static const logbook::Place place;

private:
    bool confirm(const auto& result);

    unsigned boots_ = 0;
    std::vector<logbook::Record> confirmed_;
    std::set<std::string> clean_;       ///< boot ids of the runs that ended in order
    std::set<std::string> told_clean_;  ///< those of which a later confirmed start could say so
    std::string refused_;
};

}  // namespace nightlatch::test
