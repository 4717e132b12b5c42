// SPDX-License-Identifier: MIT
#pragma once

#include "anatomy.hpp"
#include "bounds.hpp"
#include "monitor.hpp"

#include <array>
#include <memory>
#include <string>
#include <vector>

namespace nightlatch::proof {

/// What may come next. A message comes as the App feeds it: what is due before it first.
enum class Kind : unsigned char {
    tick,    ///< time passes, nobody wakes up
    wake,    ///< the levels are read where something is due, and the timers run
    edge,    ///< argument: 1 pressed; 2 more: with the stamp of the tick before
    resync,  ///< argument: the level
    vanish,  ///< or cannot be opened
    opened,  ///< argument: the level
    may_be_back,
    new_settings,  ///< the same
    send,          ///< if the core lets it
    accept,
    take_up,
    refuse,
    would_do,
    accept_former,
    refuse_former,
    going_down,
    not_going_down,
    preparing_yes,
    preparing_no,
    preparing_unknown,
    manager_gone,
    manager_back,
    call_off,
};

struct Move {
    Kind kind = Kind::tick;
    std::uint8_t argument = 0;
    std::uint8_t line = 0;       ///< of the move; of a wake-up or message: whose read is false,
    bool reads_falsely = false;  ///< if any is
};

/// Which inputs a run has.
struct Alphabet {
    bool late_edges = true;   ///< an edge with the stamp of the tick before: late, or out of order
    bool equal_edges = true;  ///< a level that was there already
    bool false_reads = true;
    bool resyncs = true;  ///< a gap, a resume
    bool vanishes = true;
    bool reloads = true;
    bool answers = true;
    bool route = true;  ///< the second one
    bool dry = false;
    bool former = true;  ///< answers to the request before
    bool going = true;
    bool preparing = true;
    bool manager = true;
    bool call_off = true;
    bool button = true;       ///< the button's line moves; else it is at rest
    bool alarm_edges = true;  ///< an alarm's does
    bool in_turn = false;     ///< PrepareForShutdown: false only after true, true only after false
    bool prompt = false;      ///< a request is refused in the tick in which it was asked
    Duration stable{};        ///< the least time between two edges of a line
};

std::vector<Move> moves_of(const Alphabet& alphabet, std::size_t line_count);
std::string text_of(const Move& move);

/// A core, the shell around it, and the onlooker, at one moment.
class World {
public:
    World(std::shared_ptr<const core::Settings> settings,
          const Lateness& lateness,
          const Alphabet& alphabet);

    /// The bytes of a state; the same number for all.
    static constexpr std::size_t most_bytes = 160;

    struct Written {
        std::size_t size = 0;
        bool shortened = false;  ///< something was clamped or dropped
    };

    Written write(std::uint8_t* out);
    void read(const std::uint8_t* in, Junk junk = Junk::none);

    [[nodiscard]] bool can(const Move& move) const;
    void make(const Move& move);

    /// What the core did in the last move, as bytes.
    [[nodiscard]] const std::vector<std::uint8_t>& deeds() const { return deeds_; }

    /// What is wrong; null when nothing is.
    [[nodiscard]] const char* violation() const { return violation_; }

    [[nodiscard]] const core::Core& core() const { return core_; }

    [[nodiscard]] Instant now() const { return now_; }

    // For the way to the end, in which nothing strange happens.
    struct Calm {
        int asks = 0;  ///< by what was held
        bool ok = false;
    };

    /// From here on the line is calm and released, nobody answers anything older; a new question is
    /// answered: no shutdown is being prepared. After `wait` a clean hold of `hold`. Or, `bounces`,
    /// nothing is answered, and the hold comes after drop-outs that let go, and has some that do
    /// not. How often was asked for then, and was it in time?
    Calm live_on(Duration wait, Duration hold, std::uint8_t line, bool bounces);

    [[nodiscard]] std::size_t lines() const { return lines_.size(); }

    /// What was fed, in the words of a test; for a counter-example.
    std::vector<std::string>* log = nullptr;

private:
    enum class Phase : unsigned char { open, closed, owes_resync, owes_opening };

    struct LineWorld {
        Phase phase = Phase::owes_opening;
        Instant owed_since{};
        Level level = Level::inactive;
        Instant moved{};  ///< the last edge; only where the alphabet wants them apart
    };
    enum class Call : unsigned char { none, pending, sent, answered };

    void feed(const core::Input& input);
    void advance();
    void drain();
    void see(const core::ActionOut& action);
    void wake(const Move& move);
    void message(const Move& move, const core::Message& message);
    void make_of_line(const Move& move);
    void make_message(const Move& move);
    [[nodiscard]] bool can_of_line(const Move& move) const;
    void owe(LineWorld& line, Phase phase);
    void calm_step(Instant until);
    void calm_until(Instant until);
    Instant bounce(std::uint8_t line);
    template <class Codec>
    void walk(Codec& codec);

    std::shared_ptr<const core::Settings> settings_;
    Lateness lateness_;
    Alphabet alphabet_;
    Bounds bounds_;
    core::Core core_;
    Monitor monitor_;
    Instant now_;
    std::vector<LineWorld> lines_;
    Call call_ = Call::none;
    bool going_ = false;  ///< the last PrepareForShutdown, where they come in turn
    std::uint32_t number_ = 0;
    std::uint32_t question_ = 0;
    std::vector<std::uint8_t> deeds_;
    const char* violation_ = nullptr;
    bool answers_ = true;                   ///< questions, on the way to the end
    int asks_ = 0;                          ///< by this one:
    std::uint32_t asker_ = core::no_index;  ///< an alarm's index; none is the button
};

}  // namespace nightlatch::proof
