// SPDX-License-Identifier: MIT
#include "bootfiles/config_txt.hpp"

#include "base/nearest.hpp"
#include "bootfiles/gpio_line.hpp"
#include "bootfiles/overlay_scope.hpp"
#include "bootfiles/text.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace nightlatch::bootfiles {
namespace {

/// "any characters past this limit will be ignored" [raspberrypi/documentation,
/// config_txt/what_is_config_txt.adoc; 78 in older texts]. Counted here from the line's first
/// character, blanks too, and without a "\r" at its end: neither is documented.
constexpr std::size_t longest_line = 98;
/// Deeper than anybody includes; the firmware's own limit is not documented.
constexpr std::size_t deepest_include = 8;

/// A file that is being read: the given one, or one included from the file before it.
struct Source {
    std::string file;
    std::string text;
    std::size_t at = 0;
    unsigned line = 0;
    Applies followed{};  ///< is this file read at all?
};

class Reader {
public:
    Reader(std::string_view file,
           const std::vector<std::string>& compatible,
           const IncludedFile& included)
        : draft_(Loader::config_txt, file), sections_(compatible), scope_(draft_),
          included_(included), include_is_for_others_(contains(compatible, "brcm,bcm2712")) {}

    Intent read(std::string_view file, std::string_view text) {
        enter(std::string(file), std::string(text), {});
        while (!sources_.empty()) {
            Source& source = sources_.back();
            const auto line = next_line(source.text, source.at, source.line);
            if (!line) {
                sources_.pop_back();
            } else if (!budget_.line()) {
                draft_.remark(RemarkKind::too_long, place(), "no more lines are looked at");
                break;
            } else {
                // The text moves when a file is included from it.
                read_line(std::string(line->text));
            }
        }
        scope_.finish();
        return draft_.take();
    }

private:
    static bool contains(const std::vector<std::string>& all, std::string_view one) {
        return std::find(all.begin(), all.end(), one) != all.end();
    }

    [[nodiscard]] FileLine place() const { return {sources_.back().file, sources_.back().line}; }

    [[nodiscard]] Applies applies() const {
        return both(sections_.applies(), sources_.back().followed);
    }

    void enter(std::string file, std::string text, Applies followed) {
        const std::size_t size = text.size();
        text.resize(budget_.take(text).size());
        sources_.push_back({std::move(file), std::move(text), 0, 0, std::move(followed)});
        if (sources_.back().text.size() < size) {
            draft_.remark(RemarkKind::too_long,
                          {sources_.back().file, 1},
                          "the text is longer than 1 MiB: the rest is not looked at");
        }
    }

    void read_line(std::string_view line);
    void read_setting(std::string_view key, std::string_view value);
    void read_section(std::string_view line);
    void include(std::string_view name);
    void set_gpio(std::string_view value, const Applies& applies);
    std::string_view cut(std::string_view line);
    void check_unknown(std::string_view key, std::string_view value);

    Draft draft_;
    Sections sections_;
    OverlayScope scope_;
    LineBudget budget_;
    std::vector<Source> sources_;
    const IncludedFile& included_;
    bool include_is_for_others_;
};

/// What the firmware sees of a line.
std::string_view Reader::cut(std::string_view line) {
    // That a text ends at a NUL is what C makes likely; it is not documented.
    if (const std::size_t nul = line.find('\0'); nul != std::string_view::npos) {
        draft_.remark(RemarkKind::malformed, place(), "a NUL byte; what follows it is not read");
        line = line.substr(0, nul);
    }
    if (line.size() <= longest_line) {
        return line;
    }
    const std::string_view rest = line.substr(longest_line);
    if (!trimmed(rest, blanks).empty()) {
        draft_.remark(RemarkKind::cut,
                      place(),
                      "the line is longer than 98 characters, and the firmware ignores the rest: " +
                          in_quotes(rest));
    }
    return line.substr(0, longest_line);
}

void Reader::read_line(std::string_view line) {
    if (without_leading_blanks(line).starts_with('#')) {
        return;
    }
    // Blanks before a setting stand in the documentation's own examples; those after it are dropped
    // by [raspberrypi/utils, dtapply], which reads these files too.
    line = trimmed(cut(line), blanks);
    if (line.empty()) {
        return;
    }
    if (line.starts_with('[')) {
        read_section(line);
        return;
    }
    const auto parts = words(line);
    if (parts[0] == "include") {
        include(trimmed(line.substr(parts[0].size()), blanks));
        return;
    }
    const std::size_t equals = line.find('=');
    if (equals != std::string_view::npos) {
        read_setting(line.substr(0, equals), line.substr(equals + 1));
    } else if (parts[0] != "initramfs") {  // "uses different syntax from all the other options"
        draft_.remark(RemarkKind::malformed,
                      place(),
                      in_quotes(line) + " is not a setting: one is written as name=value");
    }
}

void Reader::read_section(std::string_view line) {
    const std::size_t end = line.find(']');
    const std::string_view after =
        end == std::string_view::npos ? "" : trimmed(line.substr(end + 1), blanks);
    if (end == std::string_view::npos || (!after.empty() && !after.starts_with('#'))) {
        draft_.remark(RemarkKind::malformed,
                      place(),
                      in_quotes(line) + ": a section is a line of its own, as in [all]");
        sections_.enter(line.substr(1));  // no filter is called so: it depends
        return;
    }
    sections_.enter(line.substr(1, end - 1));
}

void Reader::read_setting(std::string_view key, std::string_view value) {
    const std::string_view name = trimmed(key, blanks);
    Applies whether = applies();
    const bool overlay = name == "dtoverlay" || name == "device_tree_overlay";
    const bool parameter = name == "dtparam" || name == "device_tree_param";
    const bool ours = overlay || parameter || name == "gpio";
    // "Spaces are not permitted (or more precisely are not ignored) either side of the =" [Ubuntu,
    // Edit the Raspberry Pi boot configuration], yet [raspberrypi/utils, dtapply] takes them off.
    if (ours && (name.size() != key.size() || trimmed(value, blanks).size() != value.size())) {
        draft_.remark(
            RemarkKind::malformed,
            place(),
            "blanks beside \"=\" may be part of the name or of the value: leave them out");
        whether = both(whether, {Certainty::depends, "whether blanks beside \"=\" are taken off"});
        value = trimmed(value, blanks);
    }
    // "Comments may only start at the beginning of a line"; the same two disagree.
    if (const auto comment = value.find(" #"); ours && comment != std::string_view::npos) {
        draft_.remark(RemarkKind::malformed,
                      place(),
                      "a comment begins a line; here it may be part of the value: " +
                          in_quotes(value.substr(comment)));
        whether = both(whether, {Certainty::depends, "whether the comment is taken off"});
        value = trimmed(value.substr(0, comment), blanks);
    }
    const Here here{place(), std::move(whether), sections_.number()};
    if (overlay) {
        scope_.overlay(value, here);
    } else if (parameter) {
        scope_.parameters(value, here);
    } else if (name == "gpio") {
        set_gpio(value, here.applies);
    } else if (key == "overlay_prefix" || key == "os_prefix" || key == "upstream_kernel") {
        scope_.prefix(key, value, here);
    } else {
        check_unknown(key, value);
    }
}

/// Unknown settings are none of our business, but a slip in the two that matter is ours.
void Reader::check_unknown(std::string_view key, std::string_view value) {
    constexpr std::array<std::string_view, 2> names{"dtoverlay", "dtparam"};
    // `dtdebug=1` is near to nothing; a number is never an overlay.
    const auto near = number_in(value) ? std::nullopt : nearest(key, names);
    if (near) {
        draft_.remark(RemarkKind::malformed,
                      place(),
                      "the firmware knows no setting " + in_quotes(key) +
                          " and ignores it; the nearest is " + in_quotes(*near));
    }
}

void Reader::set_gpio(std::string_view value, const Applies& applies) {
    GpioSetting setting = read_gpio(value);
    if (!setting.trouble.empty()) {
        draft_.remark(RemarkKind::malformed, place(), "gpio: " + setting.trouble);
    }
    for (const unsigned line : setting.lines) {
        setting.state.line = line;
        setting.state.place = place();
        setting.state.certainty = applies.certainty;
        setting.state.condition = applies.condition;
        draft_.add(setting.state);
    }
}

void Reader::include(std::string_view name) {
    const FileLine here = place();
    const auto open_already = std::find_if(
        sources_.begin(), sources_.end(), [&](const Source& one) { return one.file == name; });
    if (name.empty()) {
        draft_.remark(RemarkKind::malformed, here, "include needs a file's name");
    } else if (open_already != sources_.end()) {
        draft_.remark(
            RemarkKind::too_deep, here, in_quotes(name) + " includes itself: not followed");
    } else if (sources_.size() > deepest_include) {
        draft_.remark(RemarkKind::too_deep,
                      here,
                      in_quotes(name) + ": includes within includes, more than 8: not followed");
    } else if (auto text = included_ ? included_(name) : std::nullopt) {
        Applies followed = applies();
        if (followed.certainty == Certainty::no) {
            // Filters apply to settings; that they stop an include is not documented, and a section
            // of the included file could end them.
            followed.certainty = Certainty::depends;
        }
        if (include_is_for_others_) {
            // "Include directives are not supported by bootcode.bin or the EEPROM bootloader", and
            // on this chip that boot loader is all the firmware there is.
            followed = both(followed, {Certainty::depends, "whether this board follows includes"});
        }
        enter(std::string(name), std::move(*text), std::move(followed));
    } else {
        draft_.remark(
            RemarkKind::not_found, here, "the included file " + in_quotes(name) + " is not there");
    }
}

}  // namespace

Intent read_config_txt(std::string_view file,
                       std::string_view text,
                       const std::vector<std::string>& compatible,
                       const IncludedFile& included) {
    return Reader(file, compatible, included).read(file, text);
}

}  // namespace nightlatch::bootfiles
