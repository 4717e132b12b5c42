// SPDX-License-Identifier: MIT
// What is remembered of the alarms until the board is switched off.
#include "daemon/service/alarm_memory.hpp"
#include "support/temporary_directory.hpp"
#include "support/virtual_board.hpp"

#include <fstream>

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using core::KnownAlarm;
using service::AlarmMemory;

namespace {

supervisor::Event kept(const std::string& name, bool ignored) {
    return {Instant{}, supervisor::AlarmKept{{name, ignored}}};
}

}  // namespace

TEST_CASE("what was kept of each alarm is read again, the latest of each", "[alarm]") {
    const test::TemporaryDirectory directory;
    testing::RecordingJournal journal;
    AlarmMemory first(directory.path() + "/alarms", journal);
    CHECK(first.read().empty());
    first.happened(kept("battery low", true));
    first.happened(kept("too hot", false));
    first.happened(kept("battery low", false));
    CHECK(AlarmMemory(directory.path() + "/alarms", journal).read() ==
          std::vector<KnownAlarm>{{"battery low", false}, {"too hot", false}});
    CHECK(journal.lines.empty());
}

TEST_CASE("a file that is not exactly such a one counts for nothing", "[alarm]") {
    const std::string whole = service::alarms_text({{"battery low", true}});
    CHECK(service::parse_alarms_text(whole) == std::vector<KnownAlarm>{{"battery low", true}});
    for (std::size_t length = 0; length < whole.size(); ++length) {
        CHECK(service::parse_alarms_text(whole.substr(0, length)).empty());
    }
    CHECK(service::parse_alarms_text(whole + "?\n").empty());
}

TEST_CASE("a folder that cannot be written is told, with what to do", "[alarm]") {
    const test::TemporaryDirectory directory;
    testing::RecordingJournal journal;
    AlarmMemory memory(directory.path() + "/missing/alarms", journal);
    memory.happened(kept("battery low", true));
    CHECK(journal.has("cannot be written (No such file or directory): check the unit's"));
}
