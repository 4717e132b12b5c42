// SPDX-License-Identifier: MIT
#include "picture/diagram_levels.hpp"

#include "picture/diagram_tags.hpp"
#include "picture/diagram_text.hpp"

#include <algorithm>

namespace nightlatch::picture::svg {
namespace {

constexpr double lane_height = 40;
constexpr Track track{8, 32};
constexpr double near = 4;  // units; edges nearer than this are one burst
constexpr std::size_t least_edges = 3;
constexpr std::size_t most_edges_seen = 80;  // in a close-up
constexpr char last_letter = 'F';

using Changes = std::span<const wave::LevelChange>;

/// The level before `at`, and what changes from there on.
struct Rest {
    std::optional<Level> level;
    Changes changes;
};

Rest rest_from(Changes changes, Duration at) {
    const auto after = std::upper_bound(
        changes.begin(), changes.end(), at, [](Duration time, const wave::LevelChange& change) {
            return time < change.at;
        });
    Rest rest{std::nullopt, {after, changes.end()}};
    if (after != changes.begin()) {
        rest.level = (after - 1)->level;
    }
    return rest;
}

/// A level as a path that grows from left to right. What is not known is a hatched box with "?".
class Pen {
public:
    Pen(Svg& svg, Track heights) : svg_(svg), heights_(heights) {}

    void begin(double x, std::optional<Level> level) {
        x_ = x;
        level_ = level;
        if (level) {
            path_ += "M" + number(x) + " " + number(y());
        }
    }

    /// The level is `last` from x on; `all` if it was both in between.
    void change(double x, std::optional<Level> last, bool all) {
        run_to(x);
        if (all && level_ && last) {
            path_ += "V" + number(heights_.high) + "V" + number(heights_.low);
        }
        const bool joined = level_.has_value();
        level_ = last;
        if (level_) {
            path_ += joined ? "V" + number(y()) : "M" + number(x) + " " + number(y());
        }
    }

    void finish(double x) {
        run_to(x);
        if (!path_.empty()) {
            svg_.path(path_, "wave");
        }
    }

private:
    [[nodiscard]] double y() const {
        return level_ == Level::active ? heights_.high : heights_.low;
    }

    void run_to(double x) {
        if (level_) {
            path_ += "H" + number(x);
        } else if (x > x_) {
            unknown({x_, heights_.high, x - x_, heights_.low - heights_.high});
        }
        x_ = x;
    }

    void unknown(const Box& box) {
        svg_.rect(box, "box f-unknown");
        if (box.width >= 16) {
            const double middle = box.x + box.width / 2;
            svg_.rect({middle - 7, box.y + 4, 14, box.height - 8}, "page");
            svg_.text({middle, box.y + box.height / 2 + 4.5}, "b mid", "?");
        }
    }

    Svg& svg_;
    Track heights_;
    std::string path_;
    std::optional<Level> level_;
    double x_ = 0;
};

/// Adds the burst that ends here, if it is one.
void keep_burst(std::vector<Burst>& bursts, const Burst& burst, char& next_letter) {
    if (burst.edges < least_edges) {
        return;
    }
    bursts.push_back(burst);
    if (burst.edges <= most_edges_seen && next_letter <= last_letter) {
        bursts.back().letter = next_letter++;
    }
}

void find_bursts(const Plot& plot, const Piece& piece, std::vector<Burst>& bursts, char& letter) {
    Rest rest = rest_from(plot.timeline.raw, piece.time.begin);
    Burst burst;
    std::optional<Level> level = rest.level;
    for (const wave::LevelChange& change : rest.changes) {
        if (change.at > piece.time.end) {
            break;
        }
        const double x = x_of(plot.axis, piece, change.at);
        const bool edge = level.has_value() && change.level.has_value();
        if (!edge || x - burst.right > near || burst.edges == 0) {
            keep_burst(bursts, burst, letter);
            burst = {{change.at, change.at}, 0, piece.strip, x, x, 0};
        }
        burst.edges += edge ? 1 : 0;
        burst.right = x;
        burst.time.end = change.at;
        level = change.level;
    }
    keep_burst(bursts, burst, letter);
}

std::vector<Tag> burst_tags(std::span<const Burst> bursts, unsigned strip) {
    std::vector<Tag> tags;
    tags.reserve(bursts.size());
    for (const Burst& burst : bursts) {
        if (burst.strip != strip) {
            continue;
        }
        const std::string words = counted(burst.edges, "edge", "edges") + " in " +
                                  time_text(burst.time.end - burst.time.begin);
        Tag tag;
        tag.x = (burst.left + burst.right) / 2;
        tag.title = "From " + time_text(burst.time.begin) + ": " + words;
        tag.text = burst.letter != 0 ? std::string(1, burst.letter) + ": " + words : words;
        tags.push_back(std::move(tag));
    }
    return tags;
}

Lane level_lane(const Plot& plot, unsigned strip, Changes changes) {
    Lane lane;
    lane.height = lane_height;
    lane.name_at = lane_height / 2;
    lane.about = "up: pressed";
    for (const Piece& piece : plot.axis.pieces_of(strip)) {
        draw_level(lane.body, changes, piece, track);
    }
    return lane;
}

}  // namespace

void draw_level(Svg& svg, Changes changes, const Piece& piece, Track heights) {
    const double length = seconds(piece.time.end - piece.time.begin);
    const double scale = length > 0 ? (piece.right - piece.left) / length : 0;
    const Rest rest = rest_from(changes, piece.time.begin);
    Pen pen(svg, heights);
    pen.begin(piece.left, rest.level);
    for (std::size_t i = 0; i < rest.changes.size() && rest.changes[i].at <= piece.time.end;) {
        const auto x_at = [&](std::size_t k) {
            const Duration since = rest.changes[k].at - piece.time.begin;
            return piece.left + seconds(since) * scale;
        };
        const double x = x_at(i);
        std::size_t last = i;
        while (last + 1 < rest.changes.size() && rest.changes[last + 1].at <= piece.time.end &&
               x_at(last + 1) < x + 1) {
            ++last;
        }
        pen.change(x, rest.changes[last].level, last > i);
        i = last + 1;
    }
    pen.finish(piece.right);
}

std::vector<Burst> bursts_of(const Plot& plot) {
    std::vector<Burst> bursts;
    bursts.reserve(16);
    char letter = 'A';
    for (const Piece& piece : plot.axis.pieces) {
        find_bursts(plot, piece, bursts, letter);
    }
    return bursts;
}

Lane raw_lane(const Plot& plot, unsigned strip, std::span<const Burst> bursts) {
    Lane lane = level_lane(plot, strip, plot.timeline.raw);
    Svg body;
    for (const Burst& burst : bursts) {
        if (burst.strip == strip) {
            const double width = std::max(burst.right - burst.left, 3.0);
            body.rect(
                {(burst.left + burst.right - width) / 2, track.high, width, track.low - track.high},
                "f-dense");
        }
    }
    const TagBlock tags = draw_tags(burst_tags(bursts, strip),
                                    {Font::small, 150, 1, 6, plot.axis.across.label_right});
    Lane whole;
    whole.name = "raw line";
    whole.about = lane.about;
    const double top = tags.height == 0 ? 0 : tags.height - 2;
    whole.tags.add(tags.body, {0, 4});
    whole.body.add(body, {0, top});
    whole.body.add(lane.body, {0, top});
    whole.graph_top = tags.height == 0 ? 0 : top + 5;
    whole.height = top + lane.height;
    whole.name_at = top + lane.name_at;
    return whole;
}

Lane settled_lane(const Plot& plot, unsigned strip) {
    Lane lane = level_lane(plot, strip, plot.timeline.settled);
    lane.name = "settled";
    return lane;
}

}  // namespace nightlatch::picture::svg
