// SPDX-License-Identifier: MIT
// nightlatch.toml(5) and the default file say of every key what the program takes.
#include "config/keys.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <regex>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch;
using namespace nightlatch::config;
using Catch::Matchers::ContainsSubstring;

namespace {

std::string content(const char* path) {
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file.is_open());
    return {std::istreambuf_iterator<char>(file), {}};
}

std::string replaced(const std::string& text, const char* form, const char* by) {
    return std::regex_replace(text, std::regex(form), by);
}

/// Without the marks of man(7) and without quotes: as words, the lines joined.
std::string plain(const std::string& lines) {
    std::string text = replaced(lines, R"(\\\(dq|\\\(lq|\\\(rq)", "");
    text = replaced(text, R"(\\~)", " ");
    text = replaced(text, R"(\\)", "");
    // ".BR a , b" has its arguments joined, but for those in quotes a blank parts them.
    std::istringstream in(text);
    std::string all;
    for (std::string line; std::getline(in, line);) {
        static const std::regex alternating(R"(^\.(BR|IR|RB|RI|BI) )");
        if (std::regex_search(line, alternating)) {
            line = replaced(line.substr(4), R"re("([^"]*)"| )re", "$1");
        }
        all += (all.empty() ? "" : " ") + replaced(line, R"(^\.(B|I|TP|TQ|RS|RE) ?)", "");
    }
    return replaced(all, " +", " ");
}

/// A key's entry in the manual, and what stands before the first entry of its section.
struct Entry {
    std::string about;
    std::string introduction;
};

std::string up_to(const std::string& text, std::size_t from, const std::string& end) {
    return text.substr(from, text.find(end, from) - from);
}

std::string section_of(const std::string& manual, const KnownSection& section) {
    const std::string head = "\n.SH \"" + std::string(section.header) + "\"\n";
    const std::size_t begin = manual.find(head);
    REQUIRE(begin != std::string::npos);
    return up_to(manual, begin + head.size(), "\n.SH ") + "\n.TP\n";
}

/// "\n.TP\nTAG\nABOUT…": the entry whose tag has the key. One inside .RS and .RE is none.
Entry entry_of(const std::string& manual, const KnownSection& section, const Key& key) {
    const std::string body = section_of(manual, section);
    Entry entry{"", plain(up_to(body, 0, ".TP\n"))};
    for (std::size_t at = body.find(".TP\n"); at + 4 < body.size(); at = body.find(".TP\n", at)) {
        at += 4;
        const std::string tag = up_to(body, at, "\n");
        const std::string names = " " + replaced(plain(tag), ",", "") + " ";
        if (names.find(" " + std::string(key.name) + " ") != std::string::npos) {
            entry.about = plain(up_to(body, at + tag.size() + 1, ".TP\n"));
        }
    }
    return entry;
}

void check_manual(const std::string& manual, const KnownSection& section, const Key& key) {
    const auto [about, introduction] = entry_of(manual, section, key);
    CHECK_THAT(about, ContainsSubstring(std::string(key.sentence)));
    for (const std::string_view word : key.words) {
        CHECK_THAT(about, ContainsSubstring(std::string(word)));
    }
    if (key.kind == Kind::duration) {
        CHECK_THAT(about, ContainsSubstring(to_text(key.range)));
    }
    if (key.kind == Kind::count) {
        CHECK_THAT(about, ContainsSubstring(to_text(key.counts)));
    }
    if (key.kind == Kind::chip || key.kind == Kind::line) {
        CHECK_THAT(manual,
                   ContainsSubstring("Labels and names are at most " + std::to_string(key.longest) +
                                     " bytes long"));
    } else if (key.longest > 0) {
        CHECK_THAT(about, ContainsSubstring("at most " + std::to_string(key.longest) + " bytes"));
    }
    if (key.absent == Absent::wrong && key.goes_with == GoesWith::anything) {
        CHECK_THAT(introduction + about, ContainsSubstring("must be given"));
    }
}

/// The value of a key that is left out, in a section that has nothing but what it must.
std::string default_of(const KnownSection& section, const Key& key) {
    Settings settings;
    if (section.repeats()) {
        section.add(settings);
    }
    if (key.goes_with == GoesWith::line) {
        settings.feedback.at(0).output = FeedbackLine{};
    }
    const auto value = key.member.get(settings, 0);
    REQUIRE(value);
    return text_of(*value);
}

/// Whether a configuration has that section in any case; the default file hides others behind a #.
bool is_needed(const KnownSection& section) {
    return section.count(Settings{}) > 0 || section.name == "stage";
}

/// The paragraphs of the default file that are of one section: its header stands in the first.
std::string paragraphs(const std::string& file, const KnownSection& section) {
    std::string found;
    std::string_view of;
    for (std::size_t at = 0; at < file.size();) {
        const std::string paragraph = up_to(file, at, "\n\n");
        at += paragraph.size() + 2;
        for (const KnownSection& one : known_sections()) {
            const std::string header = std::string(one.header) + "\n";
            if (("\n" + paragraph + "\n").find("\n" + header) != std::string::npos ||
                paragraph.find("\n# " + header) != std::string::npos) {
                of = one.name;
            }
        }
        found += of == section.name ? "\n" + paragraph + "\n" : "";
    }
    return found;
}

void check_default_file(const std::string& file, const KnownSection& section, const Key& key) {
    const std::string about = paragraphs(file, section);
    const std::string name(key.name);
    for (const std::string_view word : key.words) {
        CHECK_THAT(about, ContainsSubstring("\"" + std::string(word) + "\""));
    }
    if (key.kind == Kind::pattern) {
        CHECK_THAT(about, ContainsSubstring(" " + name));
        CHECK_THAT(about,
                   ContainsSubstring("A cue that is not listed is " + default_of(section, key)));
    } else if (key.goes_with != GoesWith::anything || key.absent == Absent::unstated ||
               (key.absent == Absent::wrong && !is_needed(section))) {
        CHECK_THAT(about, ContainsSubstring("\n# " + name + " = "));
    } else if (key.absent == Absent::wrong) {
        CHECK_THAT(about, ContainsSubstring("\n" + name + " = "));
    } else {
        const std::string value = default_of(section, key);
        CHECK_THAT(about,
                   ContainsSubstring("\n# " + name + " = " +
                                     (key.kind == Kind::count ? value : "\"" + value + "\"") +
                                     "\n"));
    }
}

template <class Check>
void for_each_key(const Check& check) {
    for (const KnownSection& section : known_sections()) {
        for (const Key& key : section.keys) {
            INFO(full_name(section, key));
            check(section, key);
        }
    }
}

}  // namespace

TEST_CASE("The manual has every key with its sentence, its words and its range", "[config]") {
    const std::string manual = content(CONFIG_MANUAL);
    for_each_key(
        [&](const KnownSection& section, const Key& key) { check_manual(manual, section, key); });
}

TEST_CASE("The manual has the default of every key that may be left out", "[config]") {
    const std::string manual = content(CONFIG_MANUAL);
    for_each_key([&](const KnownSection& section, const Key& key) {
        if (key.absent != Absent::standard) {
            return;
        }
        const std::string about = entry_of(manual, section, key).about;
        const std::string value = default_of(section, key);
        INFO(about);
        INFO(value);
        CHECK((about.find(value + " (the default)") != std::string::npos ||
               about.find("by default " + value) != std::string::npos ||
               about.find("not listed is " + value) != std::string::npos));
    });
}

TEST_CASE("The default file has every key, behind a # with its default", "[config]") {
    const std::string file = content(DEFAULT_FILE);
    for_each_key([&](const KnownSection& section, const Key& key) {
        check_default_file(file, section, key);
    });
}

TEST_CASE("The default file names no key that there is not", "[config]") {
    const std::string file = content(DEFAULT_FILE);
    for (const KnownSection& section : known_sections()) {
        if (section.keys.empty()) {
            continue;
        }
        const auto names = key_names(section);
        const std::string about = paragraphs(file, section);
        static const std::regex line(R"(\n(?:# )?([a-z_]+) = )");
        for (std::sregex_iterator one(about.begin(), about.end(), line), end; one != end; ++one) {
            INFO((*one)[1].str());
            CHECK(std::find(names.begin(), names.end(), (*one)[1].str()) != names.end());
        }
    }
}
