// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "daemon/gpio/gpiod.hpp"
#include "support/temporary_directory.hpp"

#include <cstddef>
#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace nightlatch::test {

/// What a line was asked for, as the kernel would have been told.
struct FakeRequest {
    int direction = 0;  ///< these four: libgpiod's enumerators
    int edges = 0;
    int bias = 0;
    int clock = 0;
    bool active_low = false;
    bool first_output_active = false;
    std::string consumer;
    std::size_t buffer_size = 0;
};

/// An event in the kernel's buffer.
struct FakeEvent {
    std::uint64_t stamp = 0;
    bool rising = false;
    std::uint32_t seqno = 0;
};

/// One line of a chip: what the hardware is, then what the kernel knows of its holder.
struct FakeLine {
    std::string name;
    bool high = false;                ///< the electrical level
    bool interrupt = true;            ///< false: edges are refused (ENXIO)
    int refusal = 0;                  ///< the driver's answer to a request, an errno
    bool interrupt_shared = false;    ///< edges are refused with EBUSY though nobody holds the line
    std::optional<std::string> user;  ///< somebody else holds it, under this name
    bool output = false;              ///< its direction while we do not hold it
    bool active_low = false;          ///< as whoever else holds it has asked

    std::optional<FakeRequest> request;  ///< we hold it
    std::deque<FakeEvent> events;
    std::uint32_t seqno = 0;
    int read_end = -1;  ///< the two ends of a pipe stand for the request's descriptor
    int write_end = -1;

    /// What a read of the value says.
    [[nodiscard]] bool active() const;
};

struct FakeChip {
    std::string name;
    std::string label;
    std::vector<FakeLine> lines;
    int open_error = 0;  ///< the answer to open(2), an errno
    bool gone = false;
};

/// The chips of a machine, in memory, behind the libgpiod calls that daemon/gpio uses: link this
/// file in place of the library. It imitates of the kernel, each with its source in fake_gpiod.cpp:
/// exclusive holders, edges named by logical level, the event buffer that drops its oldest,
/// sequence numbers, equal samples, and what is left of a request when its chip goes.
/// One at a time: libgpiod's calls carry no context.
class FakeGpio {
public:
    FakeGpio();
    ~FakeGpio();
    FakeGpio(const FakeGpio&) = delete;
    FakeGpio& operator=(const FakeGpio&) = delete;

    /// Where the adapter is to look: a directory of our own with one empty file a chip.
    [[nodiscard]] gpio::Places places() const;

    FakeChip& add(unsigned number, const std::string& label, const std::vector<std::string>& lines);
    void remove(unsigned number);

    /// The line changes to this electrical level; the interrupt's stamp is given.
    void edge(FakeLine& line, bool high, Instant stamp);
    /// There and back before the interrupt's thread has run: one event, of the level as it was.
    void merged_edges(FakeLine& line, Instant second);

    [[nodiscard]] std::shared_ptr<FakeChip> chip_at(const std::string& path) const;

    int open_chips = 0;     ///< how many are open now
    int open_requests = 0;  ///< how many lines are held now

private:
    TemporaryDirectory home_;
    std::map<std::string, std::shared_ptr<FakeChip>> chips_;
};

}  // namespace nightlatch::test
