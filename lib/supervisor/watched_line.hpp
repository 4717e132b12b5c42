// SPDX-License-Identifier: MIT
#pragma once

#include "core/core.hpp"
#include "supervisor/edge_reader.hpp"
#include "supervisor/ports/button_line.hpp"
#include "supervisor/ports/clock.hpp"

#include <cstdint>
#include <optional>
#include <string>

namespace nightlatch::supervisor {

/// One line's procedure: open, drain, notice gaps, read the level, Resync, lose, open again. What
/// comes of it is fed to the core as inputs that carry the line's index.
///
/// A read of the level that fails is tried again soon: only a chip that says that it is gone, or
/// reads that fail for limits::failure_patience, mean that the line is lost. Nobody waits for that
/// in the loop: retry_at() is a deadline, and until then the core is not to be advanced if the line
/// is the button's; of an alarm's line the core is told, and waits with that alone.
class WatchedLine {
public:
    /// Told at once, from inside the functions below.
    struct Owner {
        /// Before the core is; `after_trouble`: line_trouble() had been told.
        virtual void line_opened(core::LineIndex line,
                                 const ports::LineFacts& facts,
                                 bool after_trouble) = 0;
        virtual void line_closing(
            core::LineIndex line) = 0;  ///< while it can still be asked for its descriptor
        /// It is not available, or is gone; at each try. It is news once; that permission is denied
        /// only when it is so a second time: udev may not have come round to the device yet.
        virtual void line_trouble(core::LineIndex line, const Error& error, bool news) = 0;
        virtual void edges_dropped(core::LineIndex line) = 0;
        /// A batch was fed: the time to do what the core wants, which may close the line.
        virtual void batch_fed() = 0;

    protected:
        ~Owner() = default;
    };

    /// All must outlive it.
    struct Surroundings {
        ports::ButtonLine& line;
        const ports::Clock& clock;
        core::Core& core;
        Owner& owner;
    };

    explicit WatchedLine(const Surroundings& surroundings,
                         core::LineIndex index = core::button_line)
        : around_(surroundings), index_(index) {}

    [[nodiscard]] core::LineIndex index() const noexcept { return index_; }

    [[nodiscard]] bool is_open() const noexcept { return open_; }

    /// Opens it and reads it anew: the core is fed LineOpened and Resync, or LineGone.
    /// Precondition: closed.
    void open(const ports::LineRequest& request, core::ResyncWhy why);
    /// Lets it go, if open. The core is told nothing.
    void close();

    /// Feeds what waits. True when the line was found drained, or is not open.
    bool drain();

    /// Before a deadline passes: feeds the level, read in a moment in which no event waits.
    void read_level();

    /// Drain and discard, read the clock, read the level, drain again; again if anything came.
    /// Precondition: open.
    void resync(core::ResyncWhy why);

    /// Chips came or went. Old kernels do not wake whoever waits for edges of a chip that vanished:
    /// a read tells.
    void check();

    /// When read_level() is to be called again after a read that failed; never otherwise.
    [[nodiscard]] Instant retry_at() const noexcept { return retry_at_; }

private:
    bool feed_batch();
    std::optional<Level> read();
    std::optional<std::size_t> discard();
    void lose(const Error& error);
    void tell_trouble(const Error& error);

    Surroundings around_;
    core::LineIndex index_;
    EdgeReader reader_;
    bool open_ = false;
    Instant failing_since_ = never;  ///< of the reads of the level
    Instant retry_at_ = never;
    std::optional<core::ResyncWhy> owed_;  ///< a Resync whose read failed: feed no edge before it
    std::size_t thrown_away_ = 0;          ///< edges, since the last Resync
    std::string told_trouble_;             ///< so that each is told once
    bool denied_once_ = false;
};

}  // namespace nightlatch::supervisor
