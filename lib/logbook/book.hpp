// SPDX-License-Identifier: MIT
#pragma once

#include "logbook/run_end.hpp"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::logbook {

/// All that the records say of one run.
struct Run {
    RunId id;
    std::optional<Started> started;
    std::optional<Ended> ended;
    std::vector<Witnessed> witnessed;
    RunEnd end;
    std::optional<Stopping> stopping{};  ///< nothing: the next run found no journal of it
    /// From its end to the next run's start. Nothing unless the clock had been set at both: then a
    /// clock has run meanwhile.
    std::optional<Duration> off{};
    std::string reset_cause{};  ///< as the next run was told by a driver; "" for nothing

    /// How long the machine took to go down: from the shutdown's beginning, or else from the
    /// request, to the end of the run as far as it was recorded. Nothing where that is not known.
    [[nodiscard]] std::optional<Duration> going_down() const;
};

struct Book {
    std::vector<Run> runs;  ///< by their numbers

    /// Null when there is none.
    [[nodiscard]] const Run* of_boot(std::string_view boot) const;
    /// The last one that is not of this boot: the one before it. Null when there is none.
    [[nodiscard]] const Run* before(std::string_view boot) const;
};

/// Of what stands twice (a record was copied, or a unit was started again) the first start and the
/// last end count. `boot_now`: of the run that goes on; "" when none does.
Book book_of(std::vector<Record> records, std::string_view boot_now);

}  // namespace nightlatch::logbook
