// SPDX-License-Identifier: MIT
#include "picture/diagram_palette.hpp"

#include <utility>

namespace nightlatch::picture::svg {
namespace {

struct Colours {
    std::string_view light;
    std::string_view dark;
};

/// In the order of Role.
constexpr std::array<Colours, role_count> colours{Colours{"#ffffff", "#11161c"},
                                                  Colours{"#f3f5f8", "#1a212a"},
                                                  Colours{"#e6edf5", "#233242"},
                                                  Colours{"#d3e6d8", "#21463a"},
                                                  Colours{"#18212b", "#e9eef3"},
                                                  Colours{"#47525f", "#b1bcc8"},
                                                  Colours{"#9c1c16", "#ff9f94"},
                                                  Colours{"#6f7b88", "#8492a1"},
                                                  Colours{"#dbe1e8", "#2b3540"},
                                                  Colours{"#0f4c81", "#7fc4f5"}};

struct Use {
    std::string_view classes;
    std::string_view property;
    Role role;
};

constexpr std::array uses{Use{".page,.plate", "fill", Role::page},
                          Use{".band,.on .plate", "fill", Role::band},
                          Use{".tint", "fill", Role::tint},
                          Use{".held", "fill", Role::held},
                          Use{".t,.b,.h,.dot", "fill", Role::ink},
                          Use{".s", "fill", Role::soft},
                          Use{".alarm", "fill", Role::trouble},
                          Use{".box,.lead,.axis,.zig", "stroke", Role::rule},
                          Use{".grid", "stroke", Role::grid},
                          Use{".wave,.pw", "stroke", Role::wave},
                          Use{".pi,.out,.edge", "stroke", Role::ink},
                          Use{".pr", "stroke", Role::rule},
                          Use{".hollow", "fill", Role::page}};

/// What does not depend on the scheme. Classes of one or two letters keep the file small; all stand
/// below the root's class, so a page that takes the picture in keeps its own.
constexpr std::string_view fixed = R"(.nightlatch text{font-family:sans-serif;font-size:12.5px}
.nightlatch .s{font-size:11px}
.nightlatch .b{font-weight:bold}
.nightlatch .h{font-size:19px;font-weight:bold}
.nightlatch .mid{text-anchor:middle}
.nightlatch .end{text-anchor:end}
.nightlatch .wave{fill:none;stroke-width:1.8}
.nightlatch .box{stroke-width:1;fill:none}
.nightlatch .lead,.nightlatch .axis,.nightlatch .grid{stroke-width:1;fill:none}
.nightlatch .zig{stroke-width:1.2;fill:none}
.nightlatch .edge{stroke-width:1.6;fill:none}
.nightlatch .out{stroke-width:1.3}
.nightlatch .dash{stroke-dasharray:3 3}
.nightlatch .pi,.nightlatch .pr,.nightlatch .pw{fill:none;stroke-width:1.2}
.nightlatch .f-unknown{fill:url(#nl-unknown)}
.nightlatch .f-dense{fill:url(#nl-dense)}
.nightlatch .f-rising{fill:url(#nl-rising)}
.nightlatch .f-falling{fill:url(#nl-falling)}
.nightlatch .f-bars{fill:url(#nl-bars)}
.nightlatch .f-solid{fill:url(#nl-solid)}
.nightlatch .f-cross{fill:url(#nl-cross)}
.nightlatch .f-dots{fill:url(#nl-dots)}
.nightlatch .f-waves{fill:url(#nl-waves)}
)";

struct Pattern {
    std::string_view name;
    unsigned width;
    unsigned height;
    std::string_view look;
    std::string_view data;
};

constexpr std::array patterns{Pattern{"unknown", 8, 8, "pr", "M-2 2 2 -2M0 8 8 0M6 10 10 6"},
                              Pattern{"dense", 3, 6, "pw", "M1 0V6"},
                              Pattern{"rising", 8, 8, "pi", "M-2 2 2 -2M0 8 8 0M6 10 10 6"},
                              Pattern{"falling", 8, 8, "pi", "M-2 6 2 10M0 0 8 8M6 -2 10 2"},
                              Pattern{"bars", 6, 8, "pi", "M1.5 0V8M3 0V8"},
                              Pattern{"solid", 2, 2, "pi", "M0 .5H2M0 1.5H2"},
                              Pattern{"cross", 8, 8, "pi", "M0 0 8 8M0 8 8 0"},
                              Pattern{"dots", 8, 8, "pi", "M2 4H4.5"},
                              Pattern{"waves", 8, 8, "pi", "M0 4 2 2 6 6 8 4"}};

/// ".nightlatch .a,.nightlatch .b" for ".a,.b".
std::string below_root(std::string_view classes) {
    std::string out;
    for (std::size_t comma = 0; comma != std::string_view::npos;) {
        comma = classes.find(',');
        out += (out.empty() ? "" : ",") + std::string(".nightlatch ");
        out += classes.substr(0, comma);
        classes.remove_prefix(comma == std::string_view::npos ? classes.size() : comma + 1);
    }
    return out;
}

std::string rules(Scheme scheme) {
    std::string out;
    for (const Use& use : uses) {
        out += below_root(use.classes) + "{" + std::string(use.property) + ":";
        out += std::string(colour(use.role, scheme)) + "}\n";
    }
    return out;
}

}  // namespace

std::string_view colour(Role role, Scheme scheme) noexcept {
    const Colours& both = colours[static_cast<std::size_t>(role)];
    return scheme == Scheme::light ? both.light : both.dark;
}

std::string style_and_patterns() {
    // Paper is white whatever the screen was.
    std::string out = "<style>\n" + std::string(fixed) + rules(Scheme::light) +
                      "@media screen and (prefers-color-scheme:dark){\n" + rules(Scheme::dark) +
                      "}\n</style>\n<defs>\n";
    for (const Pattern& pattern : patterns) {
        out += "<pattern id=\"nl-";
        out += pattern.name;
        out += "\" patternUnits=\"userSpaceOnUse\" width=\"" + std::to_string(pattern.width);
        out += "\" height=\"" + std::to_string(pattern.height) + "\"><path class=\"";
        out += pattern.look;
        out += "\" d=\"";
        out += pattern.data;
        out += "\"/></pattern>\n";
    }
    return out + "</defs>\n";
}

}  // namespace nightlatch::picture::svg
