// SPDX-License-Identifier: MIT
//
// Breadth-first search over class Core to a fixpoint: what holds in every state found holds for
// inputs of any length, with the constants searched, and for no others. What is left out of every
// run: the counts of storms, of changes of the settled level and of edges without a pause (limits
// such that they never trigger; tests/property has them), what is known of the post-halt line,
// chips that sleep, reads of an alarm's level that fail, settings that change. And see runs.cpp.
#include "search.hpp"

#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

using namespace nightlatch::proof;

namespace {

const char* word(End end) {
    return end == End::closed ? "closed" : end == End::cut ? "CUT" : "VIOLATED";
}

void say(const Run& run, const Outcome& outcome) {
    std::printf("%-30s %-8s %10u states %12llu transitions %7.1f s %6.0f MiB%s%s\n",
                run.name.c_str(),
                word(outcome.end),
                outcome.states,
                static_cast<unsigned long long>(outcome.transitions),
                outcome.seconds,
                static_cast<double>(outcome.memory) / (1 << 20),
                outcome.why.empty() ? "" : ": ",
                outcome.why.c_str());
    if (outcome.end == End::violated) {
        std::printf("%s", told_example(run, outcome).c_str());
    }
    std::fflush(stdout);
}

bool prove(const Run& run, const Effort& effort) {
    const std::vector<std::string> wrong = not_kept(run.scaled);
    for (const std::string& each : wrong) {
        std::printf("%s: the scaling does not keep %s\n", run.name.c_str(), each.c_str());
    }
    if (!wrong.empty()) {
        return false;
    }
    const Outcome outcome = search(run, effort);
    say(run, outcome);
    return outcome.end == End::closed;
}

struct Options {
    Effort effort;
    bool list = false;
    bool quick = false;
    std::vector<std::string_view> words;
};

Options options_of(int count, char** texts) {
    Options options;
    for (int i = 1; i < count; ++i) {
        const std::string_view text = texts[i];
        if (text == "--list") {
            options.list = true;
        } else if (text == "--quick") {
            options.quick = true;
        } else if (text.starts_with("--seconds=")) {
            options.effort.seconds = std::atof(texts[i] + text.find('=') + 1);
        } else {
            options.words.push_back(text);
        }
    }
    return options;
}

bool wanted(const Run& run, const Options& options) {
    bool named = options.words.empty();
    for (const std::string_view word : options.words) {
        const bool suffix = word.starts_with('/') && run.name.ends_with(word);
        named = named || suffix || run.name == word;
    }
    return named && (run.quick || !options.quick) && (!run.soon || !options.words.empty());
}

}  // namespace

/// prove [--list] [--quick] [--seconds=N] [NAME|/SCALING…]: 0 when all of these closed.
/// Those for scripts/mutate have to be named: /soon.
int main(int count, char** texts) {
    const Options options = options_of(count, texts);
    bool all = true;
    int tried = 0;
    for (const Run& run : all_runs()) {
        if (!wanted(run, options)) {
            continue;
        }
        ++tried;
        if (options.list) {
            std::printf("%s\n", run.name.c_str());
        } else {
            all = prove(run, options.effort) && all;
        }
    }
    return all && tried > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
