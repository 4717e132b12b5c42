// SPDX-License-Identifier: MIT
#include "daemon/tool/bounce/progress.hpp"

#include "base/duration_text.hpp"
#include "daemon/tool/bounce/words.hpp"
#include "daemon/tool/output.hpp"

#include <unistd.h>

namespace nightlatch::tool {
namespace {

std::string edges_text(const bounce::BounceEpisode& episode) {
    if (episode.edges == 1) {
        return "1 edge";
    }
    return std::to_string(episode.edges) + " edges in " + length_text(episode.length());
}

}  // namespace

std::string progress_line(const BounceSeen& seen, std::size_t wanted) {
    const bounce::BounceReport& report = seen.report;
    std::string text = "  " + std::to_string(report.whole()) + " of " + std::to_string(wanted);
    if (report.press.times > 0) {
        text += "   pressing to " + length_text(report.press.longest);
    }
    if (report.release.times > 0) {
        text += ", letting go to " + length_text(report.release.longest);
    }
    if (report.back.times > 0) {
        text += "; " + std::to_string(report.back.times) + " too quick";
    }
    return text;
}

std::string press_line(const BouncePress& press, std::size_t number) {
    std::string text = "press " + std::to_string(number) + ": ";
    text += press.press ? edges_text(*press.press) : "before the start";
    if (const auto held = press.held()) {
        text += "; held " + seconds_text(*held);
    }
    return text + (press.release ? "; letting go: " + edges_text(*press.release) : "");
}

BounceProgress::BounceProgress(std::FILE* to, const BounceTarget& target)
    : to_(to), target_(target), terminal_(isatty(fileno(to)) == 1) {}

void BounceProgress::say(const std::string& text) {
    tool::say(to_, text);
}

void BounceProgress::ask(bool pressed_low) {
    asked_ = true;
    std::string text = "It rests " + level_word(!pressed_low) + ", so pressed is " +
                       level_word(pressed_low) + ".\n";
    text += "Press your button now, hold it about a second, let go; " +
            std::to_string(target_.wanted) + (target_.wanted == 1 ? " time" : " times") +
            " (Ctrl-C ends).\n";
    say(text);
}

void BounceProgress::step(const Bouncing& bouncing) {
    const BounceSeen& seen = bouncing.seen();
    if (!asked_) {
        ask(bouncing.pressed_low());
    }
    if (terminal_) {
        constexpr std::size_t columns = 79;
        std::string line = progress_line(seen, target_.wanted).substr(0, columns);
        line.resize(columns, ' ');
        say("\r" + line);
        open_line_ = true;
        return;
    }
    const std::size_t whole = seen.report.whole();
    if (whole > told_ && whole <= seen.presses.size()) {
        told_ = whole;
        say(press_line(seen.presses[whole - 1], whole) + "\n");
    }
}

void BounceProgress::end() {
    if (open_line_) {
        say("\n");
        open_line_ = false;
    }
    say(asked_ ? "\n" : "");
}

}  // namespace nightlatch::tool
