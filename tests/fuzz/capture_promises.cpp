// SPDX-License-Identifier: MIT
#include "fuzz/capture_promises.hpp"

#include "base/text.hpp"

#include <algorithm>
#include <chrono>
#include <tuple>
#include <vector>

namespace nightlatch::test {
namespace {

using namespace wave;

constexpr Duration longest = std::chrono::hours(24 * 366);

/// Of each line with its end: as many places as it has bytes, and one more at the very end.
std::vector<std::size_t> line_sizes(std::string_view text) {
    std::vector<std::size_t> sizes;
    for (;;) {
        const std::size_t end = text.find('\n');
        sizes.push_back(std::min(end, text.size()) + 1);
        if (end == std::string_view::npos) {
            return sizes;
        }
        text.remove_prefix(end + 1);
    }
}

std::string broken(const Problem& problem, const std::vector<std::size_t>& lines) {
    if (problem.line < 1 || problem.line > lines.size() || problem.column < 1 ||
        problem.column > lines[problem.line - 1]) {
        return "a problem has a place inside the text: " + problem.text;
    }
    if (problem.text.empty() || problem.text.size() > 2'000 || !is_safe(problem.text)) {
        return "a problem is a printable sentence: " + problem.text;
    }
    return {};
}

std::string broken(const Capture& capture) {
    Duration before{};
    Level level = capture.at_start;
    for (const CapturedEdge& edge : capture.edges) {
        if (edge.at <= before || edge.level == level) {
            return "edges ascend, and each is to the other level";
        }
        before = edge.at;
        level = edge.level;
    }
    if (capture.end < before || capture.end > longest) {
        return "the end is not before the last edge, and within 366 days";
    }
    return capture.signal.empty() ? "a signal has a name" : "";
}

}  // namespace

std::string broken(const CaptureRead& read, std::string_view text) {
    const bool errors = std::any_of(read.problems.begin(),
                                    read.problems.end(),
                                    [](const Problem& problem) { return problem.error; });
    if (read.capture.has_value() == errors) {
        return "there is a capture exactly when no problem is an error";
    }
    if (read.problems.size() > 20) {
        return "no text makes more than 20 problems";
    }
    const auto place = [](const Problem& one) { return std::tie(one.line, one.column); };
    if (!std::is_sorted(read.problems.begin(),
                        read.problems.end(),
                        [&](const Problem& a, const Problem& b) { return place(a) < place(b); })) {
        return "problems come in the order of their places";
    }
    const std::vector<std::size_t> lines = line_sizes(text);
    for (const Problem& problem : read.problems) {
        if (std::string promise = broken(problem, lines); !promise.empty()) {
            return promise;
        }
    }
    return read.capture ? broken(*read.capture) : "";
}

std::string broken_by_shift(const CaptureRead& read, const CaptureRead& shifted) {
    const bool moved = std::equal(read.problems.begin(),
                                  read.problems.end(),
                                  shifted.problems.begin(),
                                  shifted.problems.end(),
                                  [](const Problem& one, const Problem& other) {
                                      return one.text == other.text && one.error == other.error &&
                                             one.line + 1 == other.line &&
                                             one.column == other.column;
                                  });
    return moved && read.capture == shifted.capture
               ? ""
               : "a comment before everything moves each place by one line, and no more";
}

}  // namespace nightlatch::test
