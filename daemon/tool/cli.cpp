// SPDX-License-Identifier: MIT
#include "daemon/tool/cli.hpp"

#include "base/text.hpp"
#include "daemon/tool/output.hpp"

#include <algorithm>
#include <cstdio>
#include <deque>
#include <sstream>
#include <utility>

#include <CLI/CLI.hpp>

namespace nightlatch::tool {
namespace {

constexpr const char* footer = R"(
Exit status: 0 fine, 1 what the command exists to report, 2 the command line or the configuration is
wrong, or the answer could not be written.
See nightlatch(1), nightlatch-audit(1), nightlatch-bounce(1), nightlatch-circuit(1),
nightlatch-follow(1), nightlatch-logbook(1), nightlatch-rehearse(1), nightlatch.toml(5),
nightlatch-fleet(7), nightlatch-troubleshooting(7), nightlatchd(8).)";

/// A command on the command line.
struct Entry {
    const Command* command;
    CLI::App* app;
    Options options;
    std::function<int()> run;
    std::vector<CLI::Option*> added;  ///< beside options.all()
    std::vector<std::string> rest;    ///< what stands after the option that takes all the rest
};

/// Values stay the texts that were typed, and too few or too many of them are ours to tell.
CLI::Option* add(CLI::App& app, const Option& option) {
    if (option.values == Option::Values::none) {
        return app.add_flag(option.name, option.help);
    }
    const bool by_place =
        !option.name.starts_with("-");  // and such the library fills up to `least`
    const bool one = option.values == Option::Values::one;
    return app
        .add_option(
            option.name, [](const CLI::results_t&) { return true; }, option.help)
        ->type_name(option.placeholder)
        ->expected(by_place ? 1 : 0, one ? 1 : CLI::detail::expected_max_vector_size)
        ->allow_extra_args(!one)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
}

void add_all(Entry& entry) {
    for (const Option& option : entry.options.all()) {
        entry.added.push_back(add(*entry.app, option));
    }
    for (std::size_t i = 0; i < entry.added.size(); ++i) {
        for (const std::string& other : entry.options.all()[i].needs) {
            entry.added[i]->needs(entry.app->get_option(other));
        }
        for (const std::string& other : entry.options.all()[i].excludes) {
            entry.added[i]->excludes(entry.app->get_option(other));
        }
    }
    entry.app->footer(entry.options.footer());
    entry.app->allow_extras();
}

std::string unknown_command(const std::string& word, std::span<const Command> commands) {
    std::vector<std::string_view> known;
    for (const Command& one : commands) {
        known.push_back(one.name);
    }
    return "there is no command " + in_quotes(word) + did_you_mean(word, known);
}

std::string unknown_argument(const std::string& word, const Entry& entry) {
    const std::string command(entry.command->name);
    if (!word.starts_with("-")) {
        return command + " takes no further argument " + in_quotes(word);
    }
    std::vector<std::string_view> known{"--help"};
    for (const Option& one : entry.options.all()) {
        known.push_back(one.name);
    }
    const std::string name = word.substr(0, word.find('='));
    return command + " has no option " + in_quotes(name) + did_you_mean(name, known);
}

/// What an app has left over, but for the mark after which there are no options.
std::vector<std::string> left_in(const CLI::App& app) {
    std::vector<std::string> left = app.remaining();
    std::erase(left, "--");
    return left;
}

/// The first word that nothing takes, told; "" where everything was taken.
std::string not_taken(const CLI::App& app,
                      const std::deque<Entry>& entries,
                      std::span<const Command> commands) {
    for (const Entry& entry : entries) {
        if (const auto left = left_in(*entry.app); !left.empty()) {
            return unknown_argument(left.front(), entry);
        }
    }
    const auto left = left_in(app);
    if (left.empty()) {
        return "";
    }
    return left.front().starts_with("-")
               ? "there is no option " + in_quotes(left.front()) + " before a command"
               : unknown_command(left.front(), commands);
}

/// What is wrong with the number of values that were typed for an option; "" where nothing is.
std::string wrong_count(const Option& option, const std::vector<std::string>& typed) {
    switch (option.values) {
    case Option::Values::none:
        return typed.empty() ? "" : option.name + " takes no value";
    case Option::Values::one:
        if (typed.size() > 1) {
            return option.name + " is given " + std::to_string(typed.size()) + " times: name one";
        }
        [[fallthrough]];
    case Option::Values::many:
    case Option::Values::rest:
        return typed.empty() ? option.name + " needs a value: " + option.placeholder : "";
    case Option::Values::any:
        break;
    }
    return "";
}

bool is_typed(const Entry& entry, const std::string& name) {
    return entry.app->get_option(name)->count() > 0;
}

/// What an option that was typed lacks, or may not stand beside; "" where all is well.
std::string wrong_company(const Entry& entry, const Option& option) {
    for (const std::string& other : option.needs) {
        if (!is_typed(entry, other)) {
            return option.name + " needs " + other;
        }
    }
    for (const std::string& other : option.excludes) {
        if (is_typed(entry, other)) {
            return option.name + " cannot be used with " + other;
        }
    }
    return "";
}

/// Gives every option what was typed for it. A sentence where that will not do, else "".
std::string take_all(const Entry& entry) {
    for (std::size_t i = 0; i < entry.added.size(); ++i) {
        const Option& option = entry.options.all()[i];
        if (entry.added[i]->count() == 0) {
            continue;
        }
        std::vector<std::string> typed = entry.added[i]->results();
        // What the library makes of no value.
        std::erase(typed, option.values == Option::Values::none ? "true" : "");
        if (option.values == Option::Values::rest) {
            typed = entry.rest;
        }
        std::string wrong = wrong_count(option, typed);
        wrong = wrong.empty() ? option.take(typed) : wrong;
        if (!wrong.empty()) {
            return wrong;
        }
    }
    return "";
}

/// In our words, where we have any for what the library `said`.
std::string wrong_with(const Entry& entry, const std::string& said) {
    for (const Option& option : entry.options.all()) {
        std::string company = is_typed(entry, option.name) ? wrong_company(entry, option) : "";
        if (!company.empty()) {
            return company;
        }
    }
    return said.empty() ? take_all(entry) : said;
}

/// What follows an option that takes the rest is not an option of ours: it is kept for that one.
/// Returns how many of the words are left to be parsed.
int keep_rest(std::span<char* const> words, std::deque<Entry>& entries) {
    const auto entry = std::find_if(entries.begin(), entries.end(), [&words](const Entry& one) {
        return words.size() > 1 && one.command->name == words[1];
    });
    std::size_t left = words.size();
    for (std::size_t i = 2; entry != entries.end() && i < left; ++i) {
        const auto& all = entry->options.all();
        const bool takes_rest = std::any_of(all.begin(), all.end(), [&](const Option& one) {
            return one.values == Option::Values::rest && one.name == words[i];
        });
        if (takes_rest) {
            left = i + 1;
            entry->rest.assign(words.begin() + static_cast<std::ptrdiff_t>(left), words.end());
        }
    }
    return static_cast<int>(left);
}

/// `command`: "" before one is known.
int refuse(const std::string& why, std::string_view command) {
    const std::string where = command.empty() ? "" : " " + std::string(command);
    std::fprintf(
        stderr, "nightlatch: %s\nSee nightlatch%s --help.\n", safe(why).c_str(), where.c_str());
    return no_answer;
}

/// The library answers --help and --version by the same way as errors.
int answer(const CLI::App& app, const CLI::ParseError& said) {
    std::ostringstream text;
    app.exit(said, text, text);
    print(text.str());
    return 0;
}

/// The command that was named, or the end.
std::deque<Entry>::const_iterator chosen(const std::deque<Entry>& entries) {
    return std::find_if(
        entries.begin(), entries.end(), [](const Entry& entry) { return entry.app->parsed(); });
}

}  // namespace

int run_command_line(int argc, char** argv, std::span<const Command> commands) {
    CLI::App app("Tools around the shutdown supervisor nightlatchd", "nightlatch");
    app.set_version_flag("--version", "nightlatch " NIGHTLATCH_VERSION);
    app.footer(footer);
    app.require_subcommand(0, 1);
    app.allow_extras();
    std::deque<Entry> entries;  // which moves none: options are bound to their places
    for (const Command& one : commands) {
        CLI::App* const sub = app.add_subcommand(std::string(one.name), std::string(one.sentence));
        Entry& entry = entries.emplace_back(Entry{&one, sub, {}, {}, {}, {}});
        entry.run = one.describe(entry.options);
        add_all(entry);
    }
    const std::span<char* const> words(argv, static_cast<std::size_t>(argc));
    const int ours = keep_rest(words, entries);
    std::string wrong;
    try {
        app.parse(ours, argv);
    } catch (const CLI::ParseError& said) {
        if (said.get_exit_code() == static_cast<int>(CLI::ExitCodes::Success)) {
            return answer(app, said);
        }
        wrong = said.what();
    }
    const auto entry = chosen(entries);
    // A word that nothing takes is the likeliest reason for what else is wrong.
    if (std::string left = not_taken(app, entries, commands); !left.empty()) {
        wrong = std::move(left);
    } else if (entry != entries.end()) {
        wrong = wrong_with(*entry, wrong);
    }
    if (!wrong.empty()) {
        return refuse(wrong, entry == entries.end() ? "" : entry->command->name);
    }
    if (entry == entries.end()) {
        std::fputs(app.help().c_str(), stderr);
        return no_answer;
    }
    return entry->run();
}

}  // namespace nightlatch::tool
