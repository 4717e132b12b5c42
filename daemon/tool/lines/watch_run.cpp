// SPDX-License-Identifier: MIT
#include "daemon/tool/lines/watch_run.hpp"

#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <string_view>

namespace nightlatch::tool {
namespace {

/// By the kernel's own names: they are what was surveyed just now.
std::vector<gpio::Wanted> requests(const Chips& chips,
                                   const std::vector<PickedLine>& lines,
                                   lines::Bias bias) {
    std::vector<gpio::Wanted> wanted;
    wanted.reserve(lines.size());
    for (const PickedLine& line : lines) {
        wanted.push_back({{chips[line.chip].name, std::to_string(line.offset)},
                          bias,
                          false,
                          false,
                          gpio::tool_consumer_name});
    }
    return wanted;
}

}  // namespace

Watching::Watching(sys::EventLoop& loop, Duration time)
    : loop_(loop), timer_(loop.timer([this] { turn(); })), limit_(loop.now() + time) {}

Watching::~Watching() {
    finish();
}

Result<std::unique_ptr<Watching>> Watching::start(sys::EventLoop& loop,
                                                  const gpio::Places& places,
                                                  const std::vector<gpio::Wanted>& lines,
                                                  Duration time) {
    std::unique_ptr<Watching> watching(new Watching(loop, time));
    for (const gpio::Wanted& wanted : lines) {
        if (const Outcome added = watching->add(places, wanted); !added) {
            return Unexpected{added.error()};
        }
    }
    watching->timer_.arm(std::min(bounce::next_deadline(watching->watches_), watching->limit_));
    return watching;
}

Outcome Watching::add(const gpio::Places& places, const gpio::Wanted& wanted) {
    Result<gpio::OpenedLine> opened = gpio::request_line(places, wanted);
    if (!opened) {
        return Unexpected{opened.error()};
    }
    const Instant now = loop_.now();
    const Result<Level> level = gpio::read_level(*opened->line);
    if (!level) {
        return Unexpected{level.error()};
    }
    watches_.emplace_back(now, *level);
    readers_.emplace_back();
    readable_.push_back(loop_.fd_watch([this](sys::FdReady) { turn(); }));
    Outcome started = readable_.back().start(gpio::fd_of(*opened->line));
    lines_.push_back(std::move(opened->line));
    return started;
}

Outcome Watching::drain(std::size_t index) {
    bounce::LineWatch& watch = watches_[index];
    const auto drained = readers_[index].drain(
        [&](std::span<ports::LineEvent> into) { return gpio::read_edges(*lines_[index], into); },
        [&watch](const ports::LineEvent& event, std::uint64_t dropped) {
            watch.lost(static_cast<std::size_t>(dropped));  // the kernel counts in 32 bits
            watch.advance(event.stamp);  // what was due before this edge came has passed
            watch.sample({event.stamp, event.level});
        });
    if (!drained) {
        return Unexpected{drained.error()};
    }
    return std::monostate{};
}

/// Lost edges must not settle a line at a level that it no longer has.
Outcome Watching::settle(std::size_t index, Instant now) {
    bounce::LineWatch& watch = watches_[index];
    if (watch.deadline() <= now) {
        const Result<Level> level = gpio::read_level(*lines_[index]);
        if (!level) {
            return Unexpected{level.error()};
        }
        if (*level != watch.raw()) {
            watch.sample({now, *level});
        }
    }
    watch.advance(now);
    return std::monostate{};
}

Outcome Watching::turn_lines(Instant now) {
    for (std::size_t i = 0; i < lines_.size(); ++i) {
        if (Outcome drained = drain(i); !drained) {
            return drained;
        }
        if (Outcome settled = settle(i, now); !settled) {
            return settled;
        }
    }
    return std::monostate{};
}

void Watching::turn() {
    if (end_) {
        return;
    }
    const Instant now = loop_.now();
    if (const Outcome turned = turn_lines(now); !turned) {
        failure_ = turned.error();
        stop(WatchEnd::signal);
    } else if (bounce::finished(watches_)) {
        stop(WatchEnd::pressed);
    } else if (now >= limit_) {
        stop(WatchEnd::time);
    } else {
        timer_.arm(std::min(bounce::next_deadline(watches_), limit_));
    }
}

void Watching::stop(WatchEnd why) {
    if (end_) {
        return;
    }
    end_ = why;
    finish();
    if (ended_) {
        ended_();
    }
}

void Watching::finish() {
    timer_.disarm();
    for (sys::FdWatch& watch : readable_) {
        watch.stop();
    }
    lines_.clear();
}

int run_watch(const WatchOptions& options) {
    const LinesFacts facts = gather_lines({}, "");
    const auto lines = choose_lines(facts, options);
    if (!lines) {
        return complain(lines.error().text, lines.error().status);
    }
    std::FILE* const told = options.json ? stderr : stdout;
    say(told, before_text(facts, *lines, options));
    auto loop = sys::EventLoop::open();
    if (!loop) {
        return complain(loop.error().text, 1);
    }
    auto watching = Watching::start(
        **loop, {}, requests(facts.survey.chips, *lines, options.bias), options.time);
    if (!watching) {
        return complain(watching.error().text, 1);
    }
    (*watching)->on_end([&loop] { (*loop)->exit(0); });
    const Outcome signals =
        (*loop)->on_signal([&watching](int) { (*watching)->stop(WatchEnd::signal); });
    if (!signals) {
        return complain(signals.error().text, 1);
    }
    say(told, press_text(options));
    if (const Result<int> ran = (*loop)->run(); !ran) {
        return complain(ran.error().text, 1);
    }
    if ((*watching)->failure()) {
        return complain((*watching)->failure()->text, 1);
    }
    const WatchSeen seen{*lines, (*watching)->watches(), *(*watching)->end()};
    print(options.json ? watch_json(facts, seen, options)
                       : watch_text(facts, seen, options, style_of_output()));
    return watch_status(seen);
}

}  // namespace nightlatch::tool
