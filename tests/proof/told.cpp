// SPDX-License-Identifier: MIT
#include "told.hpp"

namespace nightlatch::proof {

using namespace core;

namespace {

template <class... Each>
struct Overloaded : Each... {
    using Each::operator()...;
};
template <class... Each>
Overloaded(Each...) -> Overloaded<Each...>;

std::string at(Instant instant, Instant origin) {
    return "at(" + std::to_string((instant - origin).count()) + ")";
}

std::string level(Level level) {
    return level == Level::active ? "Level::active" : "Level::inactive";
}

std::string flag(bool value) {
    return value ? "true" : "false";
}

std::string number(std::uint32_t value) {
    return value == no_index ? "no_index" : std::to_string(value);
}

std::string kind(AnswerKind kind) {
    switch (kind) {
    case AnswerKind::sent:
        return "AnswerKind::sent";
    case AnswerKind::accepted:
        return "AnswerKind::accepted";
    case AnswerKind::taken_up:
        return "AnswerKind::taken_up";
    case AnswerKind::refused:
        return "AnswerKind::refused";
    case AnswerKind::would_do:
        return "AnswerKind::would_do";
    }
    return "";
}

std::string told(BeingPrepared told) {
    switch (told) {
    case BeingPrepared::yes:
        return "BeingPrepared::yes";
    case BeingPrepared::no:
        return "BeingPrepared::no";
    case BeingPrepared::cannot_tell:
        return "BeingPrepared::cannot_tell";
    }
    return "";
}

}  // namespace

std::string told_feed(const Input& input, Instant origin) {
    const auto when = [origin](Instant instant) { return at(instant, origin); };
    const auto line = [](const auto& given) { return ", " + std::to_string(given.line); };
    const std::string what = std::visit(
        Overloaded{
            [&](const Sample& s) {
                return "Sample{" + when(s.stamp) + ", " + level(s.level) + line(s);
            },
            [&](const LineOpened& o) { return "LineOpened{" + when(o.at) + ", false" + line(o); },
            [&](const Resync& r) {
                return "Resync{" + when(r.at) + ", " + level(r.level) + ", ResyncWhy::gap, 0" +
                       line(r);
            },
            [&](const LevelRead& r) {
                return "LevelRead{" + when(r.at) + ", " +
                       (r.level ? level(*r.level) : std::string("std::nullopt")) + line(r);
            },
            [&](const LineGone& g) { return "LineGone{" + when(g.at) + line(g); },
            [&](const LineMayBeBack& b) { return "LineMayBeBack{" + when(b.at); },
            [&](const Answer& a) {
                return "Answer{" + when(a.at) + ", " + kind(a.kind) + ", " + number(a.request);
            },
            [&](const GoingDown& g) { return "GoingDown{" + when(g.at) + ", " + flag(g.active); },
            [&](const Preparing& p) {
                return "Preparing{" + when(p.at) + ", " + number(p.question) + ", " + told(p.told);
            },
            [&](const LoginManager& m) {
                return "LoginManager{" + when(m.at) + ", " + flag(m.present);
            },
            [&](const CallOff& c) { return "CallOff{" + when(c.at); },
            [&](const VerdictKnown& v) { return "VerdictKnown{" + when(v.at); },
            [&](const NewSettings& n) { return "NewSettings{" + when(n.at) + ", settings"; },
        },
        input);
    return "core.feed(" + what + "});";
}

std::string told_advance(Instant now, Instant origin) {
    return "core.advance(" + at(now, origin) + ");";
}

std::string told_action(const ActionOut& action, Instant origin) {
    const auto when = [origin](Instant instant) { return at(instant, origin); };
    return std::visit(
        Overloaded{
            [&](const Ask& a) {
                return "Ask " + number(a.number) + ", " + when(a.at) + ", stage " +
                       number(a.stage) + ", alarm " + number(a.alarm) + ", held " +
                       std::to_string(a.held.count());
            },
            [&](const Withdraw& w) { return "Withdraw " + number(w.number); },
            [&](const AskPreparing& q) { return "AskPreparing " + number(q.question); },
            [&](const CalledOff& c) { return "CalledOff " + flag(c.done); },
            [&](const Publish& p) {
                return "Publish " + when(p.at) + ", stage " + number(p.stage);
            },
            [&](const OpenLine& o) { return "OpenLine " + number(o.line); },
            [&](const CloseLine& c) { return "CloseLine " + number(c.line); },
            [&](const RunResync& r) { return "RunResync " + number(r.line); },
            [&](const KeepAlarm& k) { return "KeepAlarm " + flag(k.ignored); },
            [&](const LookAtPostHalt&) { return std::string("LookAtPostHalt"); },
            [&](const DelayLock& l) { return "DelayLock " + flag(l.hold); },
        },
        action);
}

// One branch a kind of action. NOLINTNEXTLINE(readability-function-size)
void write_deed(const ActionOut& action,
                Instant now,
                std::uint32_t request,
                std::uint32_t question,
                std::vector<std::uint8_t>& to) {
    const auto put = [&to](auto value) { to.push_back(static_cast<std::uint8_t>(value)); };
    const auto ago = [&](Instant instant) { put((now - instant).count()); };
    put(action.index());
    std::visit(Overloaded{
                   [&](const Ask& a) {
                       ago(a.at);
                       put(a.number - request);
                       put(a.stage);
                       put(a.alarm);
                       put(a.held.count());
                   },
                   [&](const Withdraw& w) { put(w.number - request); },
                   [&](const AskPreparing& q) { put(q.question - question); },
                   [&](const CalledOff& c) { put(c.done); },
                   [&](const Publish& p) {
                       ago(p.at);
                       put(p.stage);
                       put(p.alarm);
                       put(p.held.count());
                   },
                   [&](const OpenLine& o) { put(o.line); },
                   [&](const CloseLine& c) { put(c.line); },
                   [&](const RunResync& r) {
                       put(r.why);
                       put(r.line);
                   },
                   [&](const KeepAlarm& k) {
                       put(k.alarm);
                       put(k.ignored);
                   },
                   [&](const LookAtPostHalt&) {},
                   [&](const DelayLock& l) { put(l.hold); },
               },
               action);
}

}  // namespace nightlatch::proof
