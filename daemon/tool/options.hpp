// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"

#include <concepts>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nightlatch::tool {

/// Why nothing is answered: a usage error, a bad configuration, a file that cannot be read, or an
/// answer that cannot be written.
inline constexpr int no_answer = 2;

/// One thing that a command can be told.
struct Option {
    /// any: also none; rest: the option is the last one, and all that follows it is its values.
    enum class Values : unsigned char { none, one, many, any, rest };

    std::string name;         ///< "--root", or "FILE" of what goes by its place
    std::string placeholder;  ///< of the value, "DIR"; "" for a flag and for what goes by its place
    std::string help;
    Values values = Values::one;
    std::vector<std::string> needs;
    std::vector<std::string> excludes;
    /// Takes what was typed. A sentence where that will not do, else "".
    std::function<std::string(const std::vector<std::string>&)> take;
};

template <class T>
struct Range {
    T least;
    T most;
};

template <class T>
Range(T, T) -> Range<T>;

/// What a command can be told, bound to where it goes; what is not typed stays as it was. `spec` is
/// an option with its value's placeholder, "--root DIR", or of what goes by its place "FILE".
class Options {
public:
    Options& flag(std::string_view name, bool& into, std::string_view help);

    /// A text as it was typed, into a std::string or an optional one; added to a list of them.
    template <class T>
    Options& text(std::string_view spec, T& into, std::string_view help) {
        return one(spec, help, [&into](const std::string& typed) {
            if constexpr (std::same_as<T, std::vector<std::string>>) {
                into.push_back(typed);
            } else {
                into = typed;
            }
            return std::string();
        });
    }

    /// A folder that is there.
    Options& folder(std::string_view spec, std::string& into, std::string_view help);

    /// Several at once, into a std::vector<std::string> or an optional one.
    template <class T>
    Options& texts(std::string_view spec,
                   T& into,
                   std::string_view help,
                   Option::Values values = Option::Values::many) {
        add(spec, help, values);
        all_.back().take = [&into](const std::vector<std::string>& typed) {
            into = typed;
            return std::string();
        };
        return *this;
    }

    /// All that follows to the end of the line, whatever it looks like: a program, its arguments.
    Options& rest(std::string_view spec,
                  std::optional<std::vector<std::string>>& into,
                  std::string_view help) {
        return texts(spec, into, help, Option::Values::rest);
    }

    /// One of the words, config::Word or like it; its value into a T or an optional one.
    template <class Words, class T>
    Options& choice(std::string_view spec, const Words& words, T& into, std::string_view help) {
        std::vector<std::string_view> texts;
        texts.reserve(words.size());
        for (const auto& word : words) {
            texts.push_back(word.text);
        }
        return one_of(
            spec, texts, help, [&into, &words](std::size_t chosen) { into = words[chosen].value; });
    }

    /// A length of time with its unit.
    Options& time(std::string_view spec,
                  Range<Duration> range,
                  Duration& into,
                  std::string_view help);

    template <std::unsigned_integral T>
    Options& number(std::string_view spec, Range<T> range, T& into, std::string_view help) {
        return whole(spec, {range.least, range.most}, help, [&into](std::uint64_t number) {
            into = static_cast<T>(number);
        });
    }

    Options& number(std::string_view spec,
                    Range<double> range,
                    std::optional<double>& into,
                    std::string_view help);

    /// The configuration, named the same way everywhere: --config FILE.
    Options& config(std::optional<std::string>& into,
                    std::string_view help = "The configuration (default: the service's own)");

    /// The same, also as the argument FILE.
    Options& config_or_argument(std::optional<std::string>& into, std::string_view help);

    /// Of what was added last: it may only stand with, or not with, `name`.
    Options& needs(std::string_view name);
    Options& excludes(std::string_view name);

    /// What --help ends with: examples, privileges, exit status.
    Options& footer(std::string_view text);

    [[nodiscard]] const std::vector<Option>& all() const noexcept { return all_; }

    [[nodiscard]] const std::string& footer() const noexcept { return footer_; }

private:
    using Take = std::function<std::string(const std::string&)>;

    Options& add(std::string_view spec, std::string_view help, Option::Values values);
    Options& one(std::string_view spec, std::string_view help, Take take);
    Options& one_of(std::string_view spec,
                    const std::vector<std::string_view>& words,
                    std::string_view help,
                    const std::function<void(std::size_t)>& choose);
    Options& whole(std::string_view spec,
                   Range<std::uint64_t> range,
                   std::string_view help,
                   std::function<void(std::uint64_t)> set);

    std::vector<Option> all_;
    std::string footer_;
};

/// "; did you mean X?" where one of `known` is near, else "".
std::string did_you_mean(std::string_view typed, const std::vector<std::string_view>& known);

/// A row of the table of commands.
struct Command {
    std::string_view name;
    std::string_view sentence;  ///< what it does, in one line
    /// Adds what it can be told. What is returned runs with what was typed by then, and gives the
    /// exit status.
    std::function<std::function<int()>(Options&)> describe;
};

/// `T` is what the command can be told.
template <class T>
Command command(std::string_view name,
                std::string_view sentence,
                void (*describe)(Options&, T&),
                int (*run)(const T&)) {
    return {name, sentence, [describe, run](Options& options) -> std::function<int()> {
                auto told = std::make_shared<T>();
                describe(options, *told);
                return [told, run] { return run(*told); };
            }};
}

}  // namespace nightlatch::tool
