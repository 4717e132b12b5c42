// SPDX-License-Identifier: MIT
#include "bootfiles/env_txt.hpp"

#include "bootfiles/draft.hpp"
#include "bootfiles/sections.hpp"
#include "bootfiles/text.hpp"

#include <algorithm>
#include <array>
#include <unordered_map>

namespace nightlatch::bootfiles {
namespace {

/// One assignment, as the boot script's `env import -t` takes it [u-boot lib/hashtable.c,
/// himport_r].
struct Entry {
    std::string name;
    std::string value;
    FileLine place;
    bool carriage_return = false;  ///< at the line's end: part of the value, unless import has -r
};

/// The text's assignments, in order.
class Import {
public:
    Import(std::string_view file, std::string_view text, Draft& draft)
        : file_(file), text_(text), draft_(draft) {}

    std::vector<Entry> entries();

private:
    void read(std::vector<Entry>& entries);
    std::string value();

    /// To the end of the line, or to a NUL, which ends one as well.
    [[nodiscard]] bool at_end() const { return at_ >= text_.size() || text_[at_] == '\n'; }

    [[nodiscard]] FileLine place() const { return {file_, line_}; }

    std::string file_;
    std::string_view text_;
    Draft& draft_;
    std::size_t at_ = 0;
    unsigned line_ = 0;
    bool refused_ = false;
};

/// "backslash is used as escape character in the value part, allowing for example for multi-line
/// values"; the escaped line end stays in the value.
std::string Import::value() {
    std::string value;
    for (; !at_end(); ++at_) {
        if (text_[at_] == '\\' && at_ + 1 < text_.size()) {
            ++at_;
            line_ += text_[at_] == '\n' ? 1U : 0U;
        }
        value += text_[at_];
    }
    return value;
}

void Import::read(std::vector<Entry>& entries) {
    at_ = std::min(text_.find_first_not_of(" \t", at_), text_.size());
    if (at_end() || text_[at_] == '#') {
        at_ = std::min(text_.find('\n', at_), text_.size());
        return;
    }
    const std::size_t end = std::min(text_.find_first_of("=\n", at_), text_.size());
    Entry entry{std::string(text_.substr(at_, end - at_)), "", place(), false};
    at_ = end;
    if (at_end()) {
        if (entry.name != "\r") {
            draft_.remark(RemarkKind::malformed,
                          entry.place,
                          in_quotes(entry.name) +
                              " is not an assignment: one is written as name=value");
        }
        return;
    }
    ++at_;
    if (entry.name.empty()) {
        // "unable to use an empty key" ends the import.
        draft_.remark(RemarkKind::malformed,
                      entry.place,
                      "a line that begins with \"=\" ends the import: nothing after it is read");
        refused_ = true;
        return;
    }
    entry.value = value();
    if (entry.value.ends_with('\r')) {
        entry.value.pop_back();
        entry.carriage_return = true;
    }
    entries.push_back(std::move(entry));
}

std::vector<Entry> Import::entries() {
    std::vector<Entry> entries;
    LineBudget budget;
    const std::size_t size = text_.size();
    text_ = budget.take(text_);
    bool too_long = text_.size() < size;
    if (const std::size_t nul = text_.find('\0'); nul != std::string_view::npos) {
        // One NUL ends an entry and two the whole; a text has neither.
        const auto lines = std::count(text_.begin(), text_.begin() + static_cast<long>(nul), '\n');
        draft_.remark(RemarkKind::malformed,
                      {file_, static_cast<unsigned>(lines) + 1},
                      "a NUL byte; what follows it is not read");
        text_ = text_.substr(0, nul);
    }
    while (at_ < text_.size() && !refused_) {
        ++line_;
        if (!budget.line()) {
            too_long = true;
            break;
        }
        read(entries);
        ++at_;
    }
    if (too_long) {
        draft_.remark(RemarkKind::too_long,
                      {file_, std::max(line_, 1U)},
                      "the text is longer than 1 MiB or 65536 lines: the rest is not looked at");
    }
    return entries;
}

/// What other scripts than those of `overlays` and `user_overlays` are told overlays by.
constexpr std::string_view master_switch = "enable_uboot_overlays";
constexpr std::array<std::string_view, 3> path_lists{
    "fdtoverlays", "fdt_overlays", "name_overlays"};

bool is_path_list(std::string_view name) {
    return std::find(path_lists.begin(), path_lists.end(), name) != path_lists.end();
}

bool is_numbered_overlay(std::string_view name) {
    constexpr std::string_view start = "uboot_overlay_addr";
    return name == "dtb_overlay" ||
           (name.starts_with(start) && all_digits(name.substr(start.size())));
}

class Reader {
public:
    explicit Reader(std::string_view file) : draft_(Loader::env_txt, file) {}

    Intent read(std::string_view file, std::string_view text);

private:
    void check(const Entry& entry);
    /// The last assignment holds, one without a value takes the name away; null when there is none.
    [[nodiscard]] const Entry* last(std::string_view name) const;
    void add_overlays(const Entry& entry);
    void add_paths(const Entry& entry);
    [[nodiscard]] std::string word_for_overlays(std::string_view file) const;
    [[nodiscard]] std::string file_of(std::string_view name, bool of_user) const;
    [[nodiscard]] Applies certainty_of(const Entry& entry,
                                       std::string_view name,
                                       bool is_last) const;
    void add_parameter(const Entry& entry);
    void note_words();

    Draft draft_;
    std::vector<Entry> entries_;
    std::unordered_map<std::string_view, const Entry*> last_;
    std::unordered_map<std::string, std::size_t> by_word_;  ///< the first overlay with such a word
    const Entry* prefix_ = nullptr;
};

const Entry* Reader::last(std::string_view name) const {
    const auto found = last_.find(name);
    return found == last_.end() ? nullptr : found->second;
}

void Reader::check(const Entry& entry) {
    const bool ours =
        entry.name == "overlays" || entry.name == "user_overlays" || entry.name == "overlay_prefix";
    if (!ours) {
        if (std::string_view name = trimmed(entry.name, blanks);
            name == "overlays" || name == "user_overlays" || name == "overlay_prefix") {
            draft_.remark(RemarkKind::malformed,
                          entry.place,
                          "the blank before \"=\" is part of the name: no script asks for it");
        }
        return;
    }
    if (last(entry.name) != &entry) {
        // "No more than one `overlays` line and one `user_overlays` line".
        draft_.remark(RemarkKind::repeated,
                      last(entry.name)->place,
                      in_quotes(entry.name) + " stands on line " +
                          std::to_string(entry.place.line) + " too: the last one holds");
    }
    if (entry.value.find_first_of("\"'") != std::string::npos) {
        draft_.remark(RemarkKind::malformed,
                      entry.place,
                      "quotes are part of the names here: leave them out");
    }
    if (entry.carriage_return) {
        draft_.remark(RemarkKind::malformed,
                      entry.place,
                      "the line ends with a carriage return, which becomes part of its last name: "
                      "save the file with plain line ends");
    }
}

/// Where it lies below the boot folder; between "dtb" and "overlay" there may be a vendor's folder
/// [armbian/documentation, User-Guide_Armbian_overlays]. Without a prefix in this text the script's
/// own counts. Newer scripts also try the name without the prefix.
std::string Reader::file_of(std::string_view name, bool of_user) const {
    if (of_user) {
        return "overlay-user/" + std::string(name) + ".dtbo";
    }
    return prefix_ == nullptr || prefix_->value.empty()
               ? ""
               : "overlay/" + prefix_->value + '-' + std::string(name) + ".dtbo";
}

Applies Reader::certainty_of(const Entry& entry, std::string_view name, bool is_last) const {
    if (last(entry.name) != &entry) {
        return {Certainty::no,
                "line " + std::to_string(last(entry.name)->place.line) + " takes its place"};
    }
    if (name.find_first_of("\"'") != std::string_view::npos) {
        return {Certainty::no, "the quotes are part of its name"};
    }
    const bool of_kernel = entry.name == "overlays";
    if ((is_last && entry.carriage_return) ||
        (of_kernel && prefix_ != nullptr && prefix_->carriage_return)) {
        return {Certainty::depends, "whether the script takes the carriage return off"};
    }
    return {};
}

void Reader::add_overlays(const Entry& entry) {
    // As the script's "for overlay_file in ${overlays}" divides it.
    const auto names = words(entry.value, " \t\n");
    for (const std::string_view& name : names) {
        Applies applies = certainty_of(entry, name, &name == &names.back());
        draft_.add(OverlayUse{std::string(overlay_name(name)),
                              file_of(name, entry.name == "user_overlays"),
                              entry.place,
                              applies.certainty,
                              std::move(applies.condition),
                              {}});
    }
}

/// Overlays by their paths. The first are one file each, and count only with the master switch
/// beside them [BeagleBoard's uEnv.txt: "###Master Enable"; elinux.org,
/// Beagleboard:BeagleBoneBlack_Debian, U-Boot Overlays]; the others are lists that only some
/// scripts read, so they depend.
void Reader::add_paths(const Entry& entry) {
    const bool numbered = is_numbered_overlay(entry.name);
    Applies applies = certainty_of(entry, entry.value, true);
    const Entry* const master = last(master_switch);
    if (numbered && (master == nullptr || master->value != "1")) {
        applies = both(applies, {Certainty::no, std::string(master_switch) + "=1 is not set"});
    } else if (!numbered) {
        applies = both(applies, {Certainty::depends, "the boot script reading " + entry.name});
    }
    for (const std::string_view& path : words(entry.value, " \t\n")) {
        const bool whole = path.starts_with('/');
        draft_.add(OverlayUse{std::string(overlay_name(path)),
                              (numbered && !whole ? "/lib/firmware/" : "") + std::string(path),
                              entry.place,
                              applies.certainty,
                              applies.condition,
                              {}});
    }
}

/// By what the text has already; a file of a name that is known has its script's word.
std::string Reader::word_for_overlays(std::string_view file) const {
    if (last(master_switch) != nullptr) {
        int free = 4;  // the first that is the user's in the text that the system brings
        while (last("uboot_overlay_addr" + std::to_string(free)) != nullptr) {
            ++free;
        }
        return "uboot_overlay_addr" + std::to_string(free) + "=/lib/firmware/";
    }
    for (const std::string_view list : path_lists) {
        if (last(list) != nullptr) {
            return std::string(list) + "=";
        }
    }
    const bool known = last("overlay_prefix") != nullptr || last("user_overlays") != nullptr ||
                       last("overlays") != nullptr || file.ends_with("armbianEnv.txt") ||
                       file.ends_with("orangepiEnv.txt");
    return known ? "user_overlays=" : "";
}

/// Which overlay a parameter is for is up to a script of the kernel's package (<prefix>-fixup.scr);
/// in the documentation's examples (w1-gpio: param_w1_pin; spi-spidev: param_spidev_spi_bus) its
/// first word is one of the overlay's. So it is a guess, and depends.
void Reader::add_parameter(const Entry& entry) {
    constexpr std::string_view start = "param_";
    if (!entry.name.starts_with(start) || last(entry.name) != &entry) {
        return;
    }
    const std::string name = entry.name.substr(start.size());
    const auto found = by_word_.find(name.substr(0, name.find('_')));
    if (found != by_word_.end()) {
        draft_.add(found->second,
                   {entry.name,
                    entry.value,
                    entry.place,
                    Certainty::depends,
                    "the overlay's own script reading it"});
    }
}

void Reader::note_words() {
    const auto& overlays = draft_.overlays();
    for (std::size_t i = 0; i < overlays.size(); ++i) {
        if (overlays[i].certainty == Certainty::no) {
            continue;
        }
        for (const std::string_view word : split(overlays[i].name, '-')) {
            by_word_.emplace(word, i);
        }
    }
}

Intent Reader::read(std::string_view file, std::string_view text) {
    entries_ = Import(file, text, draft_).entries();
    for (const Entry& entry : entries_) {
        last_[entry.name] = &entry;
    }
    prefix_ = last("overlay_prefix");
    for (const Entry& entry : entries_) {
        check(entry);
        if (entry.name == "overlays" || entry.name == "user_overlays") {
            add_overlays(entry);
        } else if (is_numbered_overlay(entry.name) || is_path_list(entry.name)) {
            add_paths(entry);
        }
    }
    note_words();
    for (const Entry& entry : entries_) {
        add_parameter(entry);
    }
    std::string word = word_for_overlays(file);
    Intent intent = draft_.take();
    intent.overlay_word = std::move(word);
    return intent;
}

}  // namespace

Intent read_env_txt(std::string_view file, std::string_view text) {
    return Reader(file).read(file, text);
}

}  // namespace nightlatch::bootfiles
