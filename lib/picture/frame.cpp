// SPDX-License-Identifier: MIT
#include "picture/frame.hpp"

#include "picture/diagram_palette.hpp"
#include "picture/diagram_text.hpp"

namespace nightlatch::picture::svg {

double draw_heading(Svg& svg, const DiagramTitle& title, const Across& across) {
    const double room = across.picture - 2 * margin;
    double y = margin;
    for (const std::string& line : wrapped(safe(title.title), Font::heading, room, 4)) {
        svg.text({margin, y + 18}, "h", line);
        y += 26;
    }
    y += 2;
    if (!title.subtitle.empty()) {
        for (const std::string& line : wrapped(safe(title.subtitle), Font::small, room, 3)) {
            svg.text({margin, y + 12}, "s", line);
            y += 16;
        }
    }
    return y + 6;
}

std::string whole_file(const Svg& body,
                       const Box& page,
                       const Spoken& spoken,
                       std::string_view own_style) {
    const std::string size =
        "width=\"" + number(page.width) + "\" height=\"" + number(page.height) + "\"";
    std::string out =
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"nightlatch\" role=\"img\" ";
    out += size + " viewBox=\"0 0 " + number(page.width) + " " + number(page.height) + "\">\n";
    out += "<title>" + escaped(spoken.name) + "</title>\n";
    out += "<desc>" + escaped(spoken.words) + "</desc>\n";
    out += style_and_patterns();
    out += own_style;
    out += "<rect class=\"page\" " + size + "/>\n";
    return out + body.str() + "</svg>\n";
}

std::string sentence(std::string_view text) {
    const std::size_t last = text.find_last_not_of(" .;:,");
    if (last == std::string_view::npos) {
        return {};
    }
    std::string whole(text.substr(0, last + 1));
    const bool ended = whole.back() == '!' || whole.back() == '?';
    return ended ? whole : whole + ".";
}

}  // namespace nightlatch::picture::svg
