// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <string_view>
#include <vector>

/// Text for a terminal. Words and cells are made safe here [base/text.hpp], so that whoever writes
/// a page through these functions need not know which of them are foreign.
namespace nightlatch::page {

struct Style {
    unsigned columns = 80;  ///< where sentences are broken
    bool colour = false;
};

enum class Paint : unsigned char { bold, good, doubtful, bad };

/// In colour where the style has any; never the only carrier of meaning.
std::string painted(const Style& style, std::string_view words, Paint paint);

using Row = std::vector<std::string>;

struct TableLayout {
    unsigned indent = 0;
    /// 'l' or 'r' for each column: to which side its cells go. The last stands for the columns
    /// after it, too.
    std::string_view sides = "l";
    unsigned wrapped_at = 0;  ///< columns at which a last cell that goes left is wrapped; 0: never
};

/// Columns as wide as their widest cell, two blanks between them, none at a line's end.
std::string table(const std::vector<Row>& rows, const TableLayout& layout);

/// A page as it grows.
class Page {
public:
    explicit Page(Style style) : style_(style) {}

    /// `head`, then the words; the lines after the first begin with `indent` blanks.
    void paragraph(std::string_view head, std::string_view words, unsigned indent);

    /// What was found, with the words `key` of it painted; " Next: " begins a line of its own.
    void verdict(std::string_view words, std::string_view key, Paint paint);

    /// Text of several lines, each after `indent` blanks; one that begins with a blank stays whole.
    void block(std::string_view lines, unsigned indent);

    /// Words that are ours, as they stand: painted, a table, the end of a line.
    void raw(std::string_view words) { text_ += words; }

    [[nodiscard]] std::string painted(std::string_view words, Paint paint) const {
        return page::painted(style_, words, paint);
    }

    [[nodiscard]] const Style& style() const noexcept { return style_; }

    [[nodiscard]] const std::string& str() const noexcept { return text_; }

private:
    Style style_;
    std::string text_;
};

}  // namespace nightlatch::page
