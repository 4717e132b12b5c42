// SPDX-License-Identifier: MIT
#include "logbook/members.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <charconv>

namespace nightlatch::logbook {
namespace {

const Value* value_in(const Members& members, std::string_view name) {
    const auto found = std::find_if(
        members.begin(), members.end(), [&](const auto& member) { return member.first == name; });
    return found == members.end() ? nullptr : &found->second;
}

// Writing.

std::string as_escape(unsigned char byte) {
    constexpr std::string_view digits = "0123456789abcdef";
    return {'\\', 'u', '0', '0', digits[byte >> 4U], digits[byte & 0xFU]};
}

void add_text(std::string_view text, std::string& out) {
    out += '"';
    while (!text.empty()) {
        const Character next = first_character(text);
        const auto byte = static_cast<unsigned char>(text.front());
        if (!next.valid) {
            out += "\xEF\xBF\xBD";
        } else if (byte == '"' || byte == '\\') {
            out += '\\';
            out += text.front();
        } else if (byte < 0x20) {
            out += byte == '\n' ? "\\n" : as_escape(byte);
        } else {
            out += text.substr(0, next.length);
        }
        text.remove_prefix(next.length);
    }
    out += '"';
}

void add_value(const Value& value, std::string& out) {
    if (const auto* text = std::get_if<std::string>(&value)) {
        add_text(*text, out);
    } else if (const auto* number = std::get_if<std::int64_t>(&value)) {
        out += std::to_string(*number);
    } else {
        out += std::get<bool>(value) ? "true" : "false";
    }
}

void add_name(std::string_view name, std::string& out) {
    if (!out.empty() && out.back() != '{') {
        out += ',';
    }
    add_text(name, out);
    out += ':';
}

void add_members(const Members& members, std::string& out) {
    for (const auto& [name, value] : members) {
        add_name(name, out);
        add_value(value, out);
    }
}

// Reading.

void add_code(char32_t code, std::string& out) {
    const auto byte = [&](char32_t bits) { out += static_cast<char>(bits); };
    if (code < 0x80) {
        byte(code);
    } else if (code < 0x800) {
        byte(0xC0U | (code >> 6U));
        byte(0x80U | (code & 0x3FU));
    } else {
        byte(0xE0U | (code >> 12U));
        byte(0x80U | ((code >> 6U) & 0x3FU));
        byte(0x80U | (code & 0x3FU));
    }
}

/// Each step takes what it reads from the front of the text, and is false when that is not there.
class Text {
public:
    explicit Text(std::string_view text) : left_(text) {}

    [[nodiscard]] bool at_end() {
        skip_blanks();
        return left_.empty();
    }

    bool take(char wanted) {
        skip_blanks();
        return take_at_once(wanted);
    }

    [[nodiscard]] bool is_next(char wanted) {
        skip_blanks();
        return left_.starts_with(wanted);
    }

    bool text(std::string& into) {
        if (!take('"')) {
            return false;
        }
        while (!left_.empty() && left_.front() != '"') {
            if (left_.front() == '\\' ? !escape(into) : !plain(into)) {
                return false;
            }
        }
        return take_at_once('"');
    }

    bool value(Value& into) {
        if (is_next('"')) {
            return text(into.emplace<std::string>());
        }
        if (take_word("true") || take_word("false")) {
            into = was_true_;
            return true;
        }
        std::int64_t number = 0;
        const auto [end, error] =
            std::from_chars(left_.data(), left_.data() + left_.size(), number);
        if (error != std::errc{}) {
            return false;
        }
        left_.remove_prefix(static_cast<std::size_t>(end - left_.data()));
        into = number;
        return left_.empty() || std::string_view(",}] \t").find(left_.front()) != left_.npos;
    }

private:
    void skip_blanks() {
        left_.remove_prefix(std::min(left_.find_first_not_of(" \t"), left_.size()));
    }

    bool take_at_once(char wanted) {
        const bool there = left_.starts_with(wanted);
        left_.remove_prefix(there ? 1 : 0);
        return there;
    }

    bool take_word(std::string_view word) {
        const bool there = left_.starts_with(word);
        left_.remove_prefix(there ? word.size() : 0);
        was_true_ = there && word == "true";
        return there;
    }

    /// Other bytes would not be written again as they are read.
    static bool is_plain(std::string_view some) {
        while (!some.empty()) {
            const Character next = first_character(some);
            if (!next.valid || next.code < 0x20) {
                return false;
            }
            some.remove_prefix(next.length);
        }
        return true;
    }

    bool plain(std::string& into) {
        const std::size_t end = std::min(left_.find_first_of("\"\\"), left_.size());
        const std::string_view some = left_.substr(0, end);
        into += some;
        left_.remove_prefix(end);
        return is_plain(some);
    }

    bool escape(std::string& into) {
        constexpr std::string_view letters = "\"\\/bfnrt";
        constexpr std::string_view meant = "\"\\/\b\f\n\r\t";
        if (left_.size() < 2) {
            return false;
        }
        const char letter = left_[1];
        if (const std::size_t at = letters.find(letter); at != letters.npos) {
            into += meant[at];
            left_.remove_prefix(2);
            return true;
        }
        std::uint16_t code = 0;
        const std::string_view digits = left_.substr(2, 4);
        const auto [end, error] =
            std::from_chars(digits.data(), digits.data() + digits.size(), code, 16);
        // We escape controls alone: of a pair for one character there is no need.
        const bool half = code >= 0xD800 && code < 0xE000;
        if (letter != 'u' || error != std::errc{} || end != digits.data() + 4 || half) {
            return false;
        }
        add_code(code, into);
        left_.remove_prefix(6);
        return true;
    }

    std::string_view left_;
    bool was_true_ = false;
};

bool read_name(Text& text, std::string& name) {
    return text.text(name) && text.take(':');
}

/// The members of an object without lists, up to its brace.
bool read_flat(Text& text, Members& into) {
    if (!text.take('{')) {
        return false;
    }
    do {
        auto& [name, value] = into.emplace_back();
        if (!read_name(text, name) || !text.value(value)) {
            return false;
        }
    } while (text.take(','));
    return text.take('}');
}

bool read_list(Text& text, std::vector<Members>& into) {
    if (!text.take('[')) {
        return false;
    }
    if (text.take(']')) {
        return true;
    }
    do {
        if (!read_flat(text, into.emplace_back())) {
            return false;
        }
    } while (text.take(','));
    return text.take(']');
}

bool read_member(Text& text, Object& into) {
    std::string name;
    if (!read_name(text, name)) {
        return false;
    }
    if (text.is_next('[')) {
        auto& list = into.lists.emplace_back(std::move(name), std::vector<Members>{});
        return read_list(text, list.second);
    }
    auto& member = into.members.emplace_back(std::move(name), Value{});
    return text.value(member.second);
}

}  // namespace

std::string text_in(const Members& members, std::string_view name) {
    const Value* const value = value_in(members, name);
    const auto* const text = value == nullptr ? nullptr : std::get_if<std::string>(value);
    return text == nullptr ? std::string() : *text;
}

std::optional<std::int64_t> integer_in(const Members& members, std::string_view name) {
    const Value* const value = value_in(members, name);
    const auto* const number = value == nullptr ? nullptr : std::get_if<std::int64_t>(value);
    return number == nullptr ? std::nullopt : std::optional(*number);
}

bool flag_in(const Members& members, std::string_view name) {
    const Value* const value = value_in(members, name);
    const auto* const flag = value == nullptr ? nullptr : std::get_if<bool>(value);
    return flag != nullptr && *flag;
}

const std::vector<Members>& list_in(const Object& object, std::string_view name) {
    static const std::vector<Members> none;
    const auto found = std::find_if(object.lists.begin(),
                                    object.lists.end(),
                                    [&](const auto& list) { return list.first == name; });
    return found == object.lists.end() ? none : found->second;
}

std::string to_text(const Object& object) {
    std::string out;
    add_members(object.members, out);
    for (const auto& [name, list] : object.lists) {
        add_name(name, out);
        out += '[';
        for (const Members& members : list) {
            out += &members == list.data() ? "{" : ",{";
            add_members(members, out);
            out += '}';
        }
        out += ']';
    }
    return out;
}

std::optional<Object> read_members(std::string_view text) {
    Text left(text);
    std::optional<Object> object(std::in_place);
    if (left.at_end()) {
        return object;
    }
    do {
        if (!read_member(left, *object)) {
            return std::nullopt;
        }
    } while (left.take(','));
    return left.at_end() ? std::move(object) : std::nullopt;
}

}  // namespace nightlatch::logbook
