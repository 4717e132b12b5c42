// SPDX-License-Identifier: MIT
#include "picture/svg.hpp"

#include "picture/diagram_text.hpp"

namespace nightlatch::picture::svg {
namespace {

std::string attribute(std::string_view name, double value) {
    return " " + std::string(name) + "=\"" + number(value) + "\"";
}

std::string look_of(std::string_view look) {
    return " class=\"" + std::string(look) + "\"";
}

}  // namespace

void Svg::end(std::string_view look) {
    out_ += look_of(look) + "/>\n";
}

void Svg::rect(const Box& box, std::string_view look) {
    out_ += "<rect" + attribute("x", box.x) + attribute("y", box.y) +
            attribute("width", box.width) + attribute("height", box.height);
    end(look);
}

void Svg::line(Point from, Point to, std::string_view look) {
    out_ += "<line" + attribute("x1", from.x) + attribute("y1", from.y) + attribute("x2", to.x) +
            attribute("y2", to.y);
    end(look);
}

void Svg::circle(Point centre, double radius, std::string_view look) {
    out_ +=
        "<circle" + attribute("cx", centre.x) + attribute("cy", centre.y) + attribute("r", radius);
    end(look);
}

void Svg::path(std::string_view data, std::string_view look) {
    out_ += "<path d=\"" + std::string(data) + "\"";
    end(look);
}

void Svg::text(Point at, std::string_view look, std::string_view words) {
    out_ += "<text" + attribute("x", at.x) + attribute("y", at.y) + look_of(look) + ">" +
            escaped(words) + "</text>\n";
}

void Svg::begin_group(std::string_view title) {
    out_ += "<g>";
    if (!title.empty()) {
        out_ += "<title>" + escaped(title) + "</title>";
    }
    out_ += '\n';
}

void Svg::end_group() {
    out_ += "</g>\n";
}

void Svg::add(const Svg& other, Point by, std::string_view look) {
    if (other.empty()) {
        return;
    }
    out_ += "<g transform=\"translate(" + number(by.x) + " " + number(by.y) + ")\"" +
            (look.empty() ? "" : look_of(look)) + ">\n";
    out_ += other.out_;
    out_ += "</g>\n";
}

}  // namespace nightlatch::picture::svg
