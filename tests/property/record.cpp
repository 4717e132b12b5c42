// SPDX-License-Identifier: MIT
#include "property/record.hpp"

#include <sstream>

namespace nightlatch::test {

using namespace core;

namespace {

std::int64_t since(Instant start, Instant at) {
    return at == never ? INT64_MAX : (at - start).count();
}

struct RowOf {
    Instant start;

    Record::Row operator()(const Ask& ask) const {
        return {0,
                since(start, ask.at),
                static_cast<std::int64_t>(ask.action),
                static_cast<std::int64_t>(ask.inhibitors),
                ask.stage,
                ask.alarm,
                ask.held.count(),
                ask.number};
    }

    Record::Row operator()(const Withdraw& withdraw) const { return {7, withdraw.number}; }

    Record::Row operator()(const AskPreparing& ask) const { return {8, ask.question}; }

    Record::Row operator()(const CalledOff& called) const { return {9, called.done ? 1 : 0}; }

    Record::Row operator()(const Publish& publish) const {
        return {1, since(start, publish.at), publish.stage, publish.alarm, publish.held.count()};
    }

    Record::Row operator()(const OpenLine& open) const { return {2, open.line}; }

    Record::Row operator()(const CloseLine& close) const { return {3, close.line}; }

    Record::Row operator()(const RunResync& run) const {
        return {4, static_cast<std::int64_t>(run.why), run.line};
    }

    Record::Row operator()(const KeepAlarm& keep) const {
        return {10, keep.alarm, keep.ignored ? 1 : 0};
    }

    Record::Row operator()(const LookAtPostHalt&) const { return {6}; }

    Record::Row operator()(const DelayLock& lock) const { return {5, lock.hold ? 1 : 0}; }
};

void write(std::ostream& out, const char* name, const Record::Row& row) {
    out << "  " << name;
    for (const std::int64_t number : row) {
        out << " " << number;
    }
    out << "\n";
}

}  // namespace

Record record_of(Shell& shell, Instant start) {
    Record record;
    for (const Left& left : shell.left()) {
        if (std::holds_alternative<LookAtPostHalt>(left.action)) {
            continue;  // provisional, as cues are
        }
        record.actions.push_back(std::visit(RowOf{start}, left.action));
    }
    for (const Note& note : shell.notes()) {
        if (note.why == Why::request_sent) {
            continue;  // as late as the loop was
        }
        record.notes.push_back({since(start, note.at),
                                static_cast<std::int64_t>(note.why),
                                static_cast<std::int64_t>(note.from),
                                static_cast<std::int64_t>(note.to),
                                note.length.count(),
                                note.index});
    }
    const Cue cue = shell.core().cue();
    record.cue = {static_cast<std::int64_t>(cue.name),
                  static_cast<std::int64_t>(cue.state),
                  since(start, cue.since),
                  since(start, cue.until),
                  cue.stage};
    record.late_edges = shell.core().late_edges();
    return record;
}

std::string text_of(const Record& record) {
    std::ostringstream out;
    for (const Record::Row& row : record.actions) {
        write(out, "action", row);
    }
    for (const Record::Row& row : record.notes) {
        write(out, "note", row);
    }
    write(out, "cue", record.cue);
    return out.str();
}

Record run(const Settings& settings, const model::Line& line, const std::vector<Between>& between) {
    Shell shell(settings, line.start, line.level);
    const auto pass = [&](Between how, Instant until) {
        switch (how) {
        case Between::nothing:
            break;
        case Between::deadlines:
            shell.wait(until);
            break;
        case Between::late:
            shell.wake(until);
            break;
        }
    };
    for (std::size_t i = 0; i < line.samples.size(); ++i) {
        pass(between[i], line.samples[i].stamp);
        shell.feed(line.samples[i]);
    }
    pass(between.back(), line.end);
    shell.wake(line.end);
    return record_of(shell, line.start);
}

Record run(const Settings& settings, const model::Line& line) {
    return run(settings, line, std::vector<Between>(line.samples.size() + 1, Between::deadlines));
}

}  // namespace nightlatch::test
