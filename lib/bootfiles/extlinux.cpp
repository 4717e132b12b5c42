// SPDX-License-Identifier: MIT
#include "bootfiles/extlinux.hpp"

#include "bootfiles/draft.hpp"
#include "bootfiles/sections.hpp"
#include "bootfiles/text.hpp"

#include <algorithm>
#include <array>

namespace nightlatch::bootfiles {
namespace {

// The rules are U-Boot's own [u-boot boot/pxe_utils.c: parse_pxefile_top, parse_label, label_boot,
// pxe_menu_to_menu, handle_pxe_menu; doc/README.pxe], whose words are not those of other loaders.

enum class Keyword : unsigned char {
    unknown,
    label,
    chosen,    ///< default, ontimeout: which label
    kernel,    ///< a label without one is skipped
    tree,      ///< fdt, fdtdir and their other names: without one no overlays are loaded
    overlays,  ///< fdtoverlays; devicetree-overlay since 2022
    once,      ///< of a label, taken once, and of no meaning here
    any,       ///< of a label, of no meaning here
    menu,
    include,
    global,  ///< of the whole file, and of no meaning here
};

struct Word {
    std::string_view text;
    Keyword keyword;
    bool needs_value = true;  ///< without one the loader gives the whole file up
};

constexpr std::array<Word, 23> keywords{{
    {"label", Keyword::label},
    {"default", Keyword::chosen},
    {"ontimeout", Keyword::chosen},
    {"kernel", Keyword::kernel},
    {"linux", Keyword::kernel},
    {"fit", Keyword::kernel},
    {"fdt", Keyword::tree},
    {"devicetree", Keyword::tree},
    {"fdtdir", Keyword::tree},
    {"devicetreedir", Keyword::tree},
    {"fdtoverlays", Keyword::overlays},
    {"devicetree-overlay", Keyword::overlays},
    {"initrd", Keyword::once},
    {"append", Keyword::any},
    {"localboot", Keyword::any},
    {"ipappend", Keyword::any},
    {"say", Keyword::any, false},
    {"kaslrseed", Keyword::any, false},
    {"menu", Keyword::menu, false},
    {"include", Keyword::include},
    {"timeout", Keyword::global},
    {"prompt", Keyword::global, false},
    {"fallback", Keyword::global},
}};

/// "useful to make keywords case insensitive".
std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result) {
        c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    }
    return result;
}

struct Label {
    std::string name;
    bool has_kernel = false;
    bool has_tree = false;
    std::vector<std::string> once;  ///< what may stand once and stands already
};

/// An overlay and the label that it stands in; nothing: outside of every label.
struct Use {
    OverlayUse use;
    std::optional<std::size_t> label;
};

class Reader {
public:
    explicit Reader(std::string_view file) : draft_(Loader::extlinux, file), file_(file) {}

    Intent read(std::string_view text);

private:
    void read_line(const Line& line);
    void in_label(const Word& word, std::string_view value, const Line& line);
    void outside(const Word& word, std::string_view value);
    void menu(std::string_view value);
    void add_overlays(std::string_view value, const Line& line);
    bool taken_already(std::string_view keyword);
    std::optional<std::size_t> booted();
    [[nodiscard]] Applies applies(const Use& one, std::optional<std::size_t> booted) const;

    [[nodiscard]] FileLine place() const { return {file_, line_}; }

    Draft draft_;
    std::string file_;
    unsigned line_ = 0;
    std::vector<Label> labels_;
    std::vector<Use> uses_;
    std::optional<std::size_t> open_;    ///< the label that lines now belong to
    std::optional<std::string> chosen_;  ///< the default label's name
    FileLine chosen_place_;
    std::string ended_by_;  ///< why no label is open, for people
    std::string refused_;   ///< why the loader takes nothing of the file; empty: it does
};

Intent Reader::read(std::string_view text) {
    LineBudget budget;
    std::string_view taken = budget.take(text);
    bool too_long = taken.size() < text.size();
    if (const std::size_t nul = taken.find('\0'); nul != std::string_view::npos) {
        taken = taken.substr(0, nul);  // ends the text in C
        const auto lines = std::count(taken.begin(), taken.end(), '\n');
        draft_.remark(RemarkKind::malformed,
                      {file_, static_cast<unsigned>(lines) + 1},
                      "a NUL byte; what follows it is not read");
    }
    std::size_t at = 0;
    unsigned number = 0;
    while (const auto line = next_line(taken, at, number)) {
        line_ = number;
        if (!budget.line()) {
            too_long = true;
            break;
        }
        read_line(*line);
    }
    if (too_long) {
        draft_.remark(RemarkKind::too_long,
                      {file_, std::max(line_, 1U)},
                      "the text is longer than 1 MiB or 65536 lines: the rest is not looked at");
    }
    const auto chosen = booted();
    for (Use& one : uses_) {
        Applies found = applies(one, chosen);
        // One that is surely out stays out; of the others each doubt counts.
        found = both({one.use.certainty, one.use.condition}, found);
        one.use.certainty = found.certainty;
        one.use.condition = std::move(found.condition);
        draft_.add(std::move(one.use));
    }
    return draft_.take();
}

void Reader::read_line(const Line& line) {
    const std::string_view text = without_leading_blanks(line.text);
    if (text.empty() || text.starts_with('#')) {
        return;
    }
    const std::size_t end = std::min(text.find_first_of(" \t\r\v\f"), text.size());
    const std::string name = lower(text.substr(0, end));
    // "string literals can't begin with #, but can contain a # after their first character".
    std::string_view value = without_leading_blanks(text.substr(end));
    value = value.starts_with('#') ? "" : value;
    const auto* const found = std::find_if(
        keywords.begin(), keywords.end(), [&](const Word& one) { return one.text == name; });
    const Word word = found == keywords.end() ? Word{name, Keyword::unknown, false} : *found;
    if (word.needs_value && value.empty() && refused_.empty()) {
        refused_ = "line " + std::to_string(line_) +
                   " without a value, for which U-Boot gives the "
                   "whole file up";
        draft_.remark(RemarkKind::malformed,
                      place(),
                      in_quotes(name) + " needs a value: without one U-Boot takes nothing of the "
                                        "whole file");
    }
    if (open_) {
        in_label(word, value, line);
    } else if (word.keyword == Keyword::overlays) {
        add_overlays(value, line);
    } else {
        outside(word, value);
    }
}

bool Reader::taken_already(std::string_view keyword) {
    // The two names of one keyword are one.
    keyword = keyword == "devicetree"           ? "fdt"
              : keyword == "devicetreedir"      ? "fdtdir"
              : keyword == "devicetree-overlay" ? "fdtoverlays"
                                                : keyword;
    auto& once = labels_[*open_].once;
    if (std::find(once.begin(), once.end(), keyword) == once.end()) {
        once.emplace_back(keyword);
        return false;
    }
    return true;
}

void Reader::in_label(const Word& word, std::string_view value, const Line& line) {
    Label& label = labels_[*open_];
    switch (word.keyword) {
    case Keyword::kernel:
        label.has_kernel = true;
        return;
    case Keyword::menu:
        menu(value);
        return;
    case Keyword::any:
        return;
    case Keyword::tree:
        label.has_tree = true;
        [[fallthrough]];
    case Keyword::once:
    case Keyword::overlays:
        if (taken_already(word.text)) {
            // The loader does not even read its value, and what it then meets ends the label.
            draft_.remark(
                RemarkKind::repeated,
                place(),
                in_quotes(word.text) +
                    " stands in this label already: the first one holds, and U-Boot takes "
                    "the label to end here");
            open_.reset();
            ended_by_ = "a second " + std::string(word.text);
        }
        if (word.keyword == Keyword::overlays) {
            add_overlays(value, line);
        }
        return;
    case Keyword::unknown:
    case Keyword::label:
    case Keyword::chosen:
    case Keyword::include:
    case Keyword::global:
        // "labels end when a command not recognized as a label command is reached".
        open_.reset();
        ended_by_ = shortened(word.text, 60);
        outside(word, value);
        return;
    }
}

void Reader::outside(const Word& word, std::string_view value) {
    switch (word.keyword) {
    case Keyword::label:
        labels_.push_back({std::string(value), false, false, {}});
        open_ = labels_.size() - 1;
        return;
    case Keyword::chosen:
        chosen_ = value;
        chosen_place_ = place();
        return;
    case Keyword::include:
        menu("include " + std::string(value));
        return;
    case Keyword::menu:
        menu(value);
        return;
    case Keyword::unknown:
    case Keyword::kernel:
    case Keyword::tree:
    case Keyword::overlays:
    case Keyword::once:
    case Keyword::any:
    case Keyword::global:
        return;
    }
}

void Reader::menu(std::string_view value) {
    const auto parts = words(value);
    const std::string what = parts.empty() ? "" : lower(parts[0]);
    if (what == "default" && open_ && !chosen_) {
        chosen_ = labels_[*open_].name;
        chosen_place_ = place();
    } else if (what == "include" && !open_) {
        draft_.remark(RemarkKind::not_found,
                      place(),
                      "an included menu is not read here: labels in it are not seen");
    }
}

void Reader::add_overlays(std::string_view value, const Line& line) {
    // Blanks divide, tabs do not [label_boot_fdtoverlay].
    const auto files = words(value, " ");
    for (const std::string_view& file : files) {
        OverlayUse use;
        use.name = overlay_name(file);
        use.file = file;
        use.place = place();
        if (line.carriage_return && &file == &files.back()) {
            draft_.remark(
                RemarkKind::malformed,
                place(),
                "the line ends with a carriage return, which U-Boot takes for part of the "
                "last path: save the file with plain line ends");
            use.certainty = Certainty::depends;
            use.condition = "whether the loader takes the carriage return off";
        }
        if (!open_) {
            use.certainty = Certainty::no;
            use.condition = ended_by_.empty() ? "it stands before every label"
                                              : "it stands in no label: " + ended_by_ + " ended it";
        }
        uses_.push_back({std::move(use), open_});
        if (uses_.size() > Draft::most_overlays) {
            return;
        }
    }
}

/// The default label by name, of several the last; with none the first that can be booted: the menu
/// has nothing to choose, and the labels are tried in order.
std::optional<std::size_t> Reader::booted() {
    if (chosen_) {
        const auto found = std::find_if(labels_.rbegin(), labels_.rend(), [&](const Label& one) {
            return one.name == *chosen_;
        });
        if (found == labels_.rend()) {
            draft_.remark(RemarkKind::not_found,
                          chosen_place_,
                          "there is no label " + in_quotes(*chosen_) + ": the first one is taken");
        } else if (found->has_kernel) {
            return static_cast<std::size_t>(labels_.rend() - found) - 1;
        }
    }
    const auto first = std::find_if(
        labels_.begin(), labels_.end(), [](const Label& one) { return one.has_kernel; });
    return first == labels_.end()
               ? std::nullopt
               : std::optional(static_cast<std::size_t>(first - labels_.begin()));
}

Applies Reader::applies(const Use& one, std::optional<std::size_t> booted) const {
    if (!one.label) {
        return {Certainty::no, one.use.condition};
    }
    const Label& label = labels_[*one.label];
    if (!label.has_tree) {
        return {Certainty::no,
                "the label has neither fdt nor fdtdir, and without one U-Boot loads no overlays"};
    }
    if (!label.has_kernel) {
        return {Certainty::no, "the label has no kernel, and U-Boot passes it over"};
    }
    Applies result;
    if (one.label != booted) {
        result = {Certainty::depends,
                  "label " + in_quotes(label.name) + " being chosen in the menu"};
    }
    return refused_.empty() ? result : both(result, {Certainty::depends, refused_});
}

}  // namespace

Intent read_extlinux(std::string_view file, std::string_view text) {
    return Reader(file).read(text);
}

}  // namespace nightlatch::bootfiles
