// SPDX-License-Identifier: MIT
#include "drawn.hpp"

#include "picture/diagram_text.hpp"

#include <algorithm>
#include <cctype>
#include <cstdlib>

namespace nightlatch::testing {

using namespace picture::svg;

namespace {

std::string attribute(const std::string& tag, const std::string& name) {
    const std::size_t at = tag.find(" " + name + "=\"");
    if (at == std::string::npos) {
        return {};
    }
    const std::size_t begin = at + name.size() + 3;
    return tag.substr(begin, tag.find('"', begin) - begin);
}

double number_in(const std::string& tag, const std::string& name) {
    return std::strtod(attribute(tag, name).c_str(), nullptr);
}

bool has_look(const std::string& looks, const std::string& look) {
    return (" " + looks + " ").find(" " + look + " ") != std::string::npos;
}

/// What our own texts are written with, taken back.
std::string plain(std::string text) {
    for (const auto& [from, to] : {std::pair<std::string, std::string>{"&lt;", "<"},
                                   {"&gt;", ">"},
                                   {"&quot;", "\""},
                                   {"&amp;", "&"}}) {
        for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; ++at) {
            text.replace(at, from.size(), to);
        }
    }
    return text;
}

Box text_box(const std::string& tag, const std::string& words, Point moved) {
    const std::string looks = attribute(tag, "class");
    const Font font = has_look(looks, "h")   ? Font::heading
                      : has_look(looks, "b") ? Font::strong
                      : has_look(looks, "s") ? Font::small
                                             : Font::normal;
    const double width = width_of(words, font);
    const double back = has_look(looks, "end") ? width : has_look(looks, "mid") ? width / 2 : 0;
    const double size = size_of(font);
    return {moved.x + number_in(tag, "x") - back,
            moved.y + number_in(tag, "y") - size * 0.75,
            width,
            size * 0.95};
}

/// The corners of a path of moves and straight lines, which ours are made of.
class Corners {
public:
    explicit Corners(const std::string& data) : at_(data.c_str()) {
        while (*at_ != '\0') {
            step();
        }
    }

    [[nodiscard]] Box box() const { return {low_.x, low_.y, high_.x - low_.x, high_.y - low_.y}; }

private:
    void step() {
        if (std::isalpha(static_cast<unsigned char>(*at_)) != 0) {
            command_ = *at_++;
        } else if (*at_ == ' ' || command_ == 'Z' || command_ == 'z') {
            ++at_;
        } else {
            take();
        }
    }

    double next() {
        char* end = nullptr;
        const double value = std::strtod(at_, &end);
        at_ = end == at_ ? at_ + 1 : end;
        return value;
    }

    void take() {
        const bool relative = std::islower(static_cast<unsigned char>(command_)) != 0;
        const int upper = std::toupper(static_cast<unsigned char>(command_));
        if (upper != 'V') {
            pen_.x = next() + (relative ? pen_.x : 0);
        }
        if (upper != 'H') {
            pen_.y = next() + (relative ? pen_.y : 0);
        }
        low_ = {std::min(low_.x, pen_.x), std::min(low_.y, pen_.y)};
        high_ = {std::max(high_.x, pen_.x), std::max(high_.y, pen_.y)};
    }

    const char* at_;
    char command_ = 'M';
    Point pen_;
    Point low_{1e9, 1e9};
    Point high_{-1e9, -1e9};
};

Box line_box(const std::string& tag) {
    const double x = std::min(number_in(tag, "x1"), number_in(tag, "x2"));
    const double y = std::min(number_in(tag, "y1"), number_in(tag, "y2"));
    return {x,
            y,
            std::max(number_in(tag, "x1"), number_in(tag, "x2")) - x,
            std::max(number_in(tag, "y1"), number_in(tag, "y2")) - y};
}

/// Where a group moves what is in it to.
Point moved_by(const std::string& tag, Point from) {
    const std::string move = attribute(tag, "transform");
    if (!move.starts_with("translate(")) {
        return from;
    }
    char* rest = nullptr;
    const double x = std::strtod(move.c_str() + 10, &rest);
    return {from.x + x, from.y + std::strtod(rest, nullptr)};
}

void read_element(Drawn& drawn, const std::string& tag, const std::string& words, Point moved) {
    if (tag.starts_with("text ")) {
        drawn.texts.push_back({text_box(tag, plain(words), moved), plain(words)});
    } else if (tag.starts_with("path ") || tag.starts_with("line ")) {
        Box box = tag.starts_with("path ") ? Corners(attribute(tag, "d")).box() : line_box(tag);
        box.x += moved.x;
        box.y += moved.y;
        drawn.strokes.push_back({box, attribute(tag, "class")});
    }
}

}  // namespace

std::vector<DrawnStroke> Drawn::strokes_of(const std::string& look) const {
    std::vector<DrawnStroke> found;
    std::copy_if(strokes.begin(), strokes.end(), std::back_inserter(found), [&](const auto& one) {
        return has_look(one.look, look);
    });
    return found;
}

Drawn read_drawn(const std::string& picture) {
    Drawn drawn;
    std::vector<Point> moved{{0, 0}};
    std::size_t at = picture.find("</defs>");
    while ((at = picture.find('<', at)) != std::string::npos) {
        const std::size_t end = picture.find('>', at);
        const std::string tag = picture.substr(at + 1, end - at - 1);
        if (tag == "/g") {
            moved.pop_back();
        } else if (tag == "g" || tag.starts_with("g ")) {
            moved.push_back(moved_by(tag, moved.back()));
        } else {
            const std::size_t next = picture.find('<', end);
            read_element(drawn, tag, picture.substr(end + 1, next - end - 1), moved.back());
        }
        at = end;
    }
    return drawn;
}

bool meet(const Box& a, const Box& b) {
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height &&
           b.y < a.y + a.height;
}

std::string description_of(const std::string& picture) {
    const std::size_t begin = picture.find("<desc>") + 6;
    return plain(picture.substr(begin, picture.find("</desc>") - begin));
}

}  // namespace nightlatch::testing
