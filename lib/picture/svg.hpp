// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>

namespace nightlatch::picture::svg {

struct Point {
    double x = 0;
    double y = 0;
};

struct Box {
    double x = 0;
    double y = 0;
    double width = 0;
    double height = 0;
};

/// Elements of an SVG as they are written, one a line. Texts are escaped here and nowhere else;
/// `look` is a list of classes of the style sheet.
class Svg {
public:
    void rect(const Box& box, std::string_view look);
    void line(Point from, Point to, std::string_view look);
    void circle(Point centre, double radius, std::string_view look);
    /// `data`: what "M 0 0 …" a path has; made by ourselves only.
    void path(std::string_view data, std::string_view look);
    void text(Point at, std::string_view look, std::string_view words);

    /// A group that tells `title` under the pointer and to screen readers, when there is one.
    void begin_group(std::string_view title = {});
    void end_group();

    /// What `other` has, moved; with classes for what is in it when `look` is not empty.
    void add(const Svg& other, Point by, std::string_view look = {});

    [[nodiscard]] const std::string& str() const noexcept { return out_; }

    [[nodiscard]] bool empty() const noexcept { return out_.empty(); }

private:
    void end(std::string_view look);

    std::string out_;
};

}  // namespace nightlatch::picture::svg
