// SPDX-License-Identifier: MIT
#include "wave/vcd_writer.hpp"

#include <algorithm>
#include <cstddef>
#include <string_view>
#include <utility>
#include <vector>

namespace nightlatch::wave {
namespace {

struct Change {
    Duration at{};
    char value = 'x';
};

/// One `$var` with all its values; `initial` holds from 0 to the first of them.
struct Variable {
    std::string name;
    std::string_view type = "wire";
    char initial = 'x';
    std::vector<Change> changes;
};

/// The value from `at` on. Of several at one time the last counts, and an equal one is none.
void set(Variable& variable, Duration at, char value) {
    if (!variable.changes.empty() && variable.changes.back().at == at) {
        variable.changes.pop_back();
    }
    const char before = variable.changes.empty() ? variable.initial : variable.changes.back().value;
    if (at == Duration::zero()) {
        variable.initial = value;
    } else if (before != value) {
        variable.changes.push_back({at, value});
    }
}

Variable level_lane(std::string name, const std::vector<LevelChange>& levels) {
    Variable variable{std::move(name), "wire", 'x', {}};
    variable.changes.reserve(levels.size());
    for (const LevelChange& change : levels) {
        set(variable, change.at, !change.level ? 'x' : *change.level == Level::active ? '1' : '0');
    }
    return variable;
}

/// The moments in which the cue goes from `leaving` to another one.
std::vector<Change> request_ends(const std::vector<CueChange>& cues) {
    std::vector<Change> ends;
    bool leaving = false;
    for (const CueChange& change : cues) {
        if (leaving && change.cue != "leaving") {
            ends.push_back({change.at, '0'});
        }
        leaving = change.cue == "leaving";
    }
    return ends;
}

Variable request_lane(const Timeline& timeline) {
    std::vector<Change> changes = request_ends(timeline.cues);
    for (const Mark& mark : timeline.marks) {
        if (mark.kind == MarkKind::request) {
            changes.push_back({mark.at, '1'});
        }
    }
    // Stable: where one request ends and the next is made, the next holds.
    std::stable_sort(changes.begin(), changes.end(), [](const Change& one, const Change& other) {
        return one.at < other.at;
    });
    Variable variable{"request", "wire", '0', {}};
    for (const Change& change : changes) {
        set(variable, change.at, change.value);
    }
    return variable;
}

Variable decision_lane(const std::vector<Mark>& marks) {
    Variable variable{"decision", "event", '0', {}};
    for (const Mark& mark : marks) {
        const bool again = !variable.changes.empty() && variable.changes.back().at == mark.at;
        if (mark.kind == MarkKind::decision && !again) {
            variable.changes.push_back({mark.at, '1'});
        }
    }
    return variable;
}

/// A simple identifier [IEEE 1364-2005, 3.7]: viewers take other characters for a hierarchy.
std::string cue_name(std::string_view cue) {
    std::string name = "cue_";
    for (const char c : cue) {
        const bool plain =
            (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
        name += plain ? c : '_';
    }
    return name;
}

/// In the order in which they are first shown.
std::vector<Variable> cue_lanes(const std::vector<CueChange>& cues) {
    std::vector<Variable> variables;
    for (const CueChange& change : cues) {
        const std::string name = cue_name(change.cue);
        const auto found =
            std::find_if(variables.begin(), variables.end(), [&](const Variable& variable) {
                return variable.name == name;
            });
        const auto shown = static_cast<std::size_t>(found - variables.begin());
        if (found == variables.end()) {
            variables.push_back({name, "wire", '0', {}});
        }
        for (std::size_t i = 0; i < variables.size(); ++i) {
            set(variables[i], change.at, i == shown ? '1' : '0');
        }
    }
    return variables;
}

std::vector<Variable> lanes_of(const Timeline& timeline) {
    std::vector<Variable> variables;
    variables.push_back(level_lane("button", timeline.raw));
    variables.push_back(level_lane("settled", timeline.settled));
    variables.push_back(request_lane(timeline));
    for (Variable& variable : cue_lanes(timeline.cues)) {
        variables.push_back(std::move(variable));
    }
    variables.push_back(decision_lane(timeline.marks));
    return variables;
}

/// Of the 94 printable characters, as few as will do.
std::string id_of(std::size_t variable) {
    constexpr std::size_t characters = 94;
    std::string id;
    for (;;) {
        id += static_cast<char>('!' + variable % characters);
        if (variable < characters) {
            return id;
        }
        variable = variable / characters - 1;
    }
}

std::string declarations(const std::vector<Variable>& variables) {
    std::string text = "$version Nightlatch $end\n"
                       "$comment button, settled: 1 is pressed $end\n"
                       "$timescale 1 ns $end\n"
                       "$scope module nightlatch $end\n";
    for (std::size_t i = 0; i < variables.size(); ++i) {
        text += "$var " + std::string(variables[i].type) + " 1 " + id_of(i) + " " +
                variables[i].name + " $end\n";
    }
    return text + "$upscope $end\n$enddefinitions $end\n";
}

std::string initial_values(const std::vector<Variable>& variables) {
    std::string text = "#0\n$dumpvars\n";
    for (std::size_t i = 0; i < variables.size(); ++i) {
        if (variables[i].type != "event") {  // which has no value
            text += variables[i].initial + id_of(i) + "\n";
        }
    }
    return text + "$end\n";
}

struct Line {
    Duration at{};
    std::string text;
};

/// All changes in order of time, those of one time in the variables' order.
std::vector<Line> lines_of(const std::vector<Variable>& variables) {
    std::vector<Line> lines;
    for (std::size_t i = 0; i < variables.size(); ++i) {
        const std::string id = id_of(i);
        for (const Change& change : variables[i].changes) {
            lines.push_back({change.at, change.value + id + "\n"});
        }
    }
    std::stable_sort(lines.begin(), lines.end(), [](const Line& one, const Line& other) {
        return one.at < other.at;
    });
    return lines;
}

}  // namespace

std::string write_vcd(const Timeline& timeline) {
    const std::vector<Variable> variables = lanes_of(timeline);
    std::string text = declarations(variables) + initial_values(variables);
    Duration at{};
    for (const Line& line : lines_of(variables)) {
        if (line.at != at) {
            at = line.at;
            text += "#" + std::to_string(at.count()) + "\n";
        }
        text += line.text;
    }
    if (at != timeline.end) {
        text += "#" + std::to_string(timeline.end.count()) + "\n";
    }
    return text;
}

}  // namespace nightlatch::wave
