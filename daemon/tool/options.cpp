// SPDX-License-Identifier: MIT
#include "daemon/tool/options.hpp"

#include "base/duration_text.hpp"
#include "base/ensure.hpp"
#include "base/nearest.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <filesystem>
#include <limits>
#include <utility>

namespace nightlatch::tool {
namespace {

/// The whole text as a number.
template <class T>
std::optional<T> read(const std::string& text) {
    T number{};
    const char* const end = text.data() + text.size();
    const auto [stopped, error] = std::from_chars(text.data(), end, number);
    return error == std::errc() && stopped == end ? std::optional(number) : std::nullopt;
}

std::string text_of(double number) {
    char text[32];
    const int length = std::snprintf(text, sizeof text, "%g", number);
    return {text, static_cast<std::size_t>(length)};
}

/// "a, b or c".
std::string alternatives(const std::vector<std::string_view>& words) {
    std::string text;
    for (std::size_t i = 0; i < words.size(); ++i) {
        text += i == 0 ? "" : i + 1 == words.size() ? " or " : ", ";
        text += words[i];
    }
    return text;
}

}  // namespace

Options& Options::add(std::string_view spec, std::string_view help, Option::Values values) {
    const std::size_t blank = std::min(spec.find(' '), spec.size());
    Option option;
    option.name = spec.substr(0, blank);
    option.placeholder = spec.substr(std::min(blank + 1, spec.size()));
    option.help = help;
    option.values = values;
    all_.push_back(std::move(option));
    return *this;
}

Options& Options::one(std::string_view spec, std::string_view help, Take take) {
    add(spec, help, Option::Values::one);
    all_.back().take = [take = std::move(take)](const std::vector<std::string>& typed) {
        return take(typed.front());
    };
    return *this;
}

Options& Options::flag(std::string_view name, bool& into, std::string_view help) {
    add(name, help, Option::Values::none);
    all_.back().take = [&into](const std::vector<std::string>&) {
        into = true;
        return std::string();
    };
    return *this;
}

Options& Options::one_of(std::string_view spec,
                         const std::vector<std::string_view>& words,
                         std::string_view help,
                         const std::function<void(std::size_t)>& choose) {
    const std::string name(spec.substr(0, spec.find(' ')));
    return one(spec, help, [=](const std::string& typed) -> std::string {
        const auto found = std::find(words.begin(), words.end(), typed);
        if (found == words.end()) {
            return name + " must be " + alternatives(words) + did_you_mean(typed, words);
        }
        choose(static_cast<std::size_t>(found - words.begin()));
        return "";
    });
}

Options& Options::time(std::string_view spec,
                       Range<Duration> range,
                       Duration& into,
                       std::string_view help) {
    const std::string name(spec.substr(0, spec.find(' ')));
    std::string wrong = name + " must be " + to_text(range.least) + " to " + to_text(range.most) +
                        ", with its unit: " + name + " " + in_quotes(to_text(into));
    return one(spec, help, [range, &into, wrong = std::move(wrong)](const std::string& typed) {
        const auto read = parse_duration(typed);
        if (!read || *read < range.least || *read > range.most) {
            return std::string(wrong);
        }
        into = *read;
        return std::string();
    });
}

Options& Options::whole(std::string_view spec,
                        Range<std::uint64_t> range,
                        std::string_view help,
                        std::function<void(std::uint64_t)> set) {
    std::string wrong(spec.substr(0, spec.find(' ')));
    wrong += range.most == std::numeric_limits<std::uint64_t>::max()
                 ? " must be a whole number, 0 or more"
                 : " must be " + std::to_string(range.least) + " to " + std::to_string(range.most);
    return one(spec, help, [range, wrong, set = std::move(set)](const std::string& typed) {
        const auto number = read<std::uint64_t>(typed);
        if (!number || *number < range.least || *number > range.most) {
            return wrong;
        }
        set(*number);
        return std::string();
    });
}

Options& Options::number(std::string_view spec,
                         Range<double> range,
                         std::optional<double>& into,
                         std::string_view help) {
    std::string wrong(spec.substr(0, spec.find(' ')));
    wrong += " must be " + text_of(range.least) + " to " + text_of(range.most);
    return one(spec, help, [range, wrong, &into](const std::string& typed) {
        const auto number = read<double>(typed);
        // So that what is not a number ("nan") is in no range.
        if (!number || !(*number >= range.least && *number <= range.most)) {
            return wrong;
        }
        into = *number;
        return std::string();
    });
}

Options& Options::folder(std::string_view spec, std::string& into, std::string_view help) {
    const std::string name(spec.substr(0, spec.find(' ')));
    return one(spec, help, [&into, name](const std::string& typed) {
        std::error_code trouble;
        if (!std::filesystem::is_directory(typed, trouble)) {
            return name + " needs a folder, and " + in_quotes(typed) +
                   (trouble ? " cannot be opened: " + trouble.message() : " is not one");
        }
        into = typed;
        return std::string();
    });
}

Options& Options::config(std::optional<std::string>& into, std::string_view help) {
    return one("--config FILE", help, [&into](const std::string& typed) -> std::string {
        if (into && *into != typed) {
            return "two configurations are named, " + *into + " and " + typed + ": name one";
        }
        into = typed;
        return "";
    });
}

Options& Options::config_or_argument(std::optional<std::string>& into, std::string_view help) {
    text("FILE", into, help);
    return config(into, "The same as FILE");
}

Options& Options::needs(std::string_view name) {
    NIGHTLATCH_ENSURE(!all_.empty());
    all_.back().needs.emplace_back(name);
    return *this;
}

Options& Options::excludes(std::string_view name) {
    NIGHTLATCH_ENSURE(!all_.empty());
    all_.back().excludes.emplace_back(name);
    return *this;
}

Options& Options::footer(std::string_view text) {
    footer_ = text;
    return *this;
}

std::string did_you_mean(std::string_view typed, const std::vector<std::string_view>& known) {
    const auto near = nearest(typed, known);
    return near ? "; did you mean " + std::string(*near) + "?" : "";
}

}  // namespace nightlatch::tool
