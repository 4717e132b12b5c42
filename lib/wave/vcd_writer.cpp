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
struct Lane {
    std::string name;
    std::string_view type = "wire";
    char initial = 'x';
    std::vector<Change> changes;
};

/// The value from `at` on. Of several at one time the last counts, and an equal one is none.
void set(Lane& lane, Duration at, char value) {
    if (!lane.changes.empty() && lane.changes.back().at == at) {
        lane.changes.pop_back();
    }
    const char before = lane.changes.empty() ? lane.initial : lane.changes.back().value;
    if (at == Duration::zero()) {
        lane.initial = value;
    } else if (before != value) {
        lane.changes.push_back({at, value});
    }
}

Lane level_lane(std::string name, const std::vector<LevelChange>& levels) {
    Lane lane{std::move(name), "wire", 'x', {}};
    lane.changes.reserve(levels.size());
    for (const LevelChange& change : levels) {
        set(lane, change.at, !change.level ? 'x' : *change.level == Level::active ? '1' : '0');
    }
    return lane;
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

Lane request_lane(const Timeline& timeline) {
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
    Lane lane{"request", "wire", '0', {}};
    for (const Change& change : changes) {
        set(lane, change.at, change.value);
    }
    return lane;
}

Lane decision_lane(const std::vector<Mark>& marks) {
    Lane lane{"decision", "event", '0', {}};
    for (const Mark& mark : marks) {
        const bool again = !lane.changes.empty() && lane.changes.back().at == mark.at;
        if (mark.kind == MarkKind::decision && !again) {
            lane.changes.push_back({mark.at, '1'});
        }
    }
    return lane;
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
std::vector<Lane> cue_lanes(const std::vector<CueChange>& cues) {
    std::vector<Lane> lanes;
    for (const CueChange& change : cues) {
        const std::string name = cue_name(change.cue);
        const auto found = std::find_if(
            lanes.begin(), lanes.end(), [&](const Lane& lane) { return lane.name == name; });
        const auto shown = static_cast<std::size_t>(found - lanes.begin());
        if (found == lanes.end()) {
            lanes.push_back({name, "wire", '0', {}});
        }
        for (std::size_t i = 0; i < lanes.size(); ++i) {
            set(lanes[i], change.at, i == shown ? '1' : '0');
        }
    }
    return lanes;
}

std::vector<Lane> lanes_of(const Timeline& timeline) {
    std::vector<Lane> lanes;
    lanes.push_back(level_lane("button", timeline.raw));
    lanes.push_back(level_lane("settled", timeline.settled));
    lanes.push_back(request_lane(timeline));
    for (Lane& lane : cue_lanes(timeline.cues)) {
        lanes.push_back(std::move(lane));
    }
    lanes.push_back(decision_lane(timeline.marks));
    return lanes;
}

/// Of the 94 printable characters, as few as will do.
std::string id_of(std::size_t lane) {
    constexpr std::size_t characters = 94;
    std::string id;
    for (;;) {
        id += static_cast<char>('!' + lane % characters);
        if (lane < characters) {
            return id;
        }
        lane = lane / characters - 1;
    }
}

std::string declarations(const std::vector<Lane>& lanes) {
    std::string text = "$version Nightlatch $end\n"
                       "$comment button, settled: 1 is pressed $end\n"
                       "$timescale 1 ns $end\n"
                       "$scope module nightlatch $end\n";
    for (std::size_t i = 0; i < lanes.size(); ++i) {
        text += "$var " + std::string(lanes[i].type) + " 1 " + id_of(i) + " " + lanes[i].name +
                " $end\n";
    }
    return text + "$upscope $end\n$enddefinitions $end\n";
}

std::string initial_values(const std::vector<Lane>& lanes) {
    std::string text = "#0\n$dumpvars\n";
    for (std::size_t i = 0; i < lanes.size(); ++i) {
        if (lanes[i].type != "event") {  // which has no value
            text += lanes[i].initial + id_of(i) + "\n";
        }
    }
    return text + "$end\n";
}

struct Line {
    Duration at{};
    std::string text;
};

/// All changes in order of time, those of one time in the lanes' order.
std::vector<Line> lines_of(const std::vector<Lane>& lanes) {
    std::vector<Line> lines;
    for (std::size_t i = 0; i < lanes.size(); ++i) {
        const std::string id = id_of(i);
        for (const Change& change : lanes[i].changes) {
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
    const std::vector<Lane> lanes = lanes_of(timeline);
    std::string text = declarations(lanes) + initial_values(lanes);
    Duration at{};
    for (const Line& line : lines_of(lanes)) {
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
