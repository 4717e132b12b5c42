// SPDX-License-Identifier: MIT
#include "config/load.hpp"

#include "config/circuit_section.hpp"
#include "config/document.hpp"
#include "config/draft.hpp"
#include "config/names.hpp"
#include "config/read_value.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

namespace nightlatch::config {
namespace {

/// Nobody counts further with a thumb; it also bounds the rules that look at pairs.
constexpr std::size_t most_sections = 16;

/// Reads the keys of one section, the `at`th of its name.
class SectionReader {
public:
    SectionReader(const Section& section, std::size_t at, Draft& draft, Reader& reader)
        : section_(section), at_(at), draft_(draft), reader_(reader) {}

    void read(const KnownSection& known) {
        find_output(known);
        std::span<const Key> left = known.keys;
        while (!left.empty()) {
            const auto other = std::find_if(left.begin(), left.end(), [&](const Key& key) {
                return key.name != left.front().name;
            });
            const auto parts = left.first(static_cast<std::size_t>(other - left.begin()));
            if (!parts.front().part.empty()) {
                read_parts(parts);
            } else if (is_due(parts.front())) {
                read_key(parts.front(), parts.front().name, section_);
            }
            left = left.subspan(parts.size());
        }
    }

private:
    [[nodiscard]] bool has(std::string_view key) const {
        return find(*section_.table, key) != nullptr;
    }

    /// A section whose keys name an LED or a line names exactly one of them.
    void find_output(const KnownSection& known) {
        line_ = has("chip") || has("line");
        const bool chooses = std::any_of(known.keys.begin(), known.keys.end(), [](const Key& key) {
            return key.goes_with == GoesWith::led;
        });
        led_ = chooses && has("led");
        if (chooses && led_ == line_) {
            reader_.error(
                section_.place,
                section_.name,
                line_ ? "has both led and chip or line; each output needs a section of its own"
                      : "says neither led nor chip and line, so there is nothing to show cues on");
            led_ = line_ = false;
        }
    }

    [[nodiscard]] bool is_due(const Key& key) const {
        switch (key.goes_with) {
        case GoesWith::anything:
            return true;
        case GoesWith::led:
            return led_;
        case GoesWith::line:
            if (led_ && has(key.name)) {
                reader_.error(find(*section_.table, key.name)->place,
                              full_key(section_, key.name),
                              "goes with a line; the kernel knows the level that lights an LED");
            }
            return line_;
        }
        return false;
    }

    /// `name` is the key's in `section`, which may be the table of a key with parts.
    void read_key(const Key& key, std::string_view name, const Section& section) {
        const Entry* entry = find(*section.table, name);
        const auto* table = entry == nullptr ? nullptr : std::get_if<Table>(&entry->value.data);
        if (table != nullptr && key.by_stage.set != nullptr) {
            read_by_stage(key, {full_key(section, name), table, entry->value.place});
        } else if (entry != nullptr) {
            if (auto value = read_value(key, entry->value, full_key(section, name), reader_)) {
                take(key, *value, entry->value.place);
            }
        } else if (key.absent == Absent::wrong) {
            reader_.missing(section, name, remedy_for_missing(key));
        } else if (key.absent == Absent::standard) {
            draft_.keys.push_back({&key, at_, section.place});
        }
    }

    /// A pattern for each stage that is named; the others are dark.
    void read_by_stage(const Key& key, const Section& table) {
        for (std::size_t i = 0; i < draft_.settings.core.stages.size(); ++i) {
            key.by_stage.set(draft_.settings, at_, i, core::Pattern{});
        }
        Key of_one = key;
        of_one.by_stage = {};  // in here there is no further table
        bool whole = true;
        for (const Entry& entry : *table.table) {
            const std::string name = full_key(table, entry.key);
            const auto stage = find_stage(entry, name);
            const auto value = read_value(of_one, entry.value, name, reader_);
            whole = whole && stage && value;
            if (stage && value) {
                key.by_stage.set(draft_.settings, at_, *stage, *value);
            }
        }
        if (whole) {
            draft_.keys.push_back({&key, at_, table.place});
        }
    }

    /// Where a stage's name is wrong or missing, that has been said already.
    std::optional<std::size_t> find_stage(const Entry& entry, const std::string& name) {
        const std::vector<core::Stage>& stages = draft_.settings.core.stages;
        std::vector<std::string_view> names;
        for (std::size_t i = 0; i < stages.size(); ++i) {
            if (!draft_.place("stage.name", i)) {
                return std::nullopt;
            }
            names.emplace_back(stages[i].name);
        }
        const auto found = std::find(names.begin(), names.end(), entry.key);
        if (found == names.end()) {
            if (!names.empty()) {
                reader_.error(entry.place,
                              name,
                              "is not the name of a stage" + allowed_text(entry.key, names));
            }
            return std::nullopt;
        }
        return static_cast<std::size_t>(found - names.begin());
    }

    /// A table of the parts, or one value for all of them.
    void read_parts(std::span<const Key> parts) {
        const std::string_view name = parts.front().name;
        const Entry* entry = find(*section_.table, name);
        if (entry == nullptr) {
            for (const Key& part : parts) {
                read_key(part, name, section_);
            }
        } else if (const auto* table = std::get_if<Table>(&entry->value.data)) {
            const Section inner{full_key(section_, name), table, entry->value.place};
            for (const Key& part : parts) {
                read_key(part, part.part, inner);
            }
        } else if (!std::holds_alternative<std::string>(entry->value.data)) {
            reader_.error(entry->value.place,
                          full_key(section_, name),
                          "is " + std::string(kind_of(entry->value)) +
                              R"(; expected "30 ms", or { press = "30 ms", release = "160 ms" })");
        } else if (const auto value =
                       read_value(parts.front(), entry->value, full_key(section_, name), reader_)) {
            for (const Key& part : parts) {
                take(part, *value, entry->value.place);
            }
        }
    }

    void take(const Key& key, const KeyValue& value, Place place) {
        key.member.set(draft_.settings, at_, value);
        draft_.keys.push_back({&key, at_, place});
    }

    const Section& section_;
    std::size_t at_;
    Draft& draft_;
    Reader& reader_;
    bool line_ = false;
    bool led_ = false;
};

void read_sections(const Table& root, const KnownSection& known, Draft& draft, Reader& reader) {
    std::vector<Section> sections;
    if (!known.repeats()) {
        const auto section = one_section(root, known.name, reader);
        if (!section) {
            return;
        }
        sections.push_back(*section);
    } else {
        auto all = all_sections(root, known.name, reader);
        if (!all) {
            return;
        }
        sections = std::move(*all);
    }
    if (sections.size() > most_sections) {
        reader.error(sections[most_sections].place,
                     std::string(known.name),
                     "more than 16 " + std::string(known.name) + "s");
        return;
    }
    Draft::ReadSection read{known.name, {}};
    for (const Section& section : sections) {
        if (known.repeats()) {
            known.add(draft.settings);
        }
        SectionReader(section, read.places.size(), draft, reader).read(known);
        read.places.push_back(section.place);
    }
    draft.sections.push_back(std::move(read));
}

/// Of a text that is not TOML as a whole: its [[feedback]] sections that are some by themselves. A
/// section ends where a line begins with a bracket.
std::string parsable_feedback(std::string_view text) {
    std::string kept;
    std::string section;
    const auto end_section = [&] {
        kept += parse_document(section) ? section : std::string();
        section.clear();
    };
    bool inside = false;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size() - 1) + 1;
        const std::string_view line = text.substr(0, end);
        const std::string_view words = trimmed(line);
        if (words.starts_with('[')) {
            end_section();
            inside = words.starts_with("[[feedback]]");
        }
        section += inside ? line : std::string_view();
        text.remove_prefix(end);
    }
    end_section();
    return kept;
}

bool shows_fault(const Draft& draft, std::size_t at) {
    const bool led = draft.place("feedback.led", at).has_value();
    const bool line = draft.place("feedback.chip", at) && draft.place("feedback.line", at) &&
                      draft.place("feedback.active", at);
    const core::Pattern& fault =
        draft.settings.feedback[at].looks.by_cue[static_cast<std::size_t>(core::CueName::fault)];
    return (led || line) && fault.kind != core::PatternKind::off;
}

/// Only the sections of this name, as far as they can be read.
Draft read_only(const Table& root, std::string_view name, Reader& reader) {
    Draft draft;
    for (const KnownSection& known : known_sections()) {
        if (known.name == name) {
            read_sections(root, known, draft, reader);
        }
    }
    return draft;
}

Draft read_only(const Table& root, std::string_view name) {
    Reader unheard;
    return read_only(root, name, unheard);
}

/// By hold, and what is kept by a stage's index with them.
void sort_stages(Settings& settings) {
    const std::vector<core::Stage> stages = settings.core.stages;
    std::vector<std::size_t> order(stages.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return stages[a].hold < stages[b].hold;
    });
    for (std::size_t i = 0; i < order.size(); ++i) {
        settings.core.stages[i] = stages[order[i]];
    }
    for (Feedback& feedback : settings.feedback) {
        const std::vector<core::Pattern> looks = feedback.looks.ready_by_stage;
        for (std::size_t i = 0; i < looks.size(); ++i) {
            feedback.looks.ready_by_stage[i] = looks[order[i]];
        }
    }
}

}  // namespace

Loaded load(std::string_view text) {
    const auto document = parse_document(text);
    if (!document) {
        return {std::nullopt, {document.error()}, {}};
    }
    Reader reader;
    Draft draft;
    const Table& root = document->root;
    check_names(root, reader);
    for (const KnownSection& known : known_sections()) {
        if (!known.keys.empty()) {
            read_sections(root, known, draft, reader);
        }
    }
    draft.settings.circuit = read_circuit_section(root, reader);
    check_contradictions(draft, reader);
    Reader adviser;
    advise(draft, adviser);
    Loaded loaded{std::nullopt, reader.take(), adviser.take()};
    if (!has_errors(loaded.diagnostics)) {
        sort_stages(draft.settings);
        loaded.settings = std::move(draft.settings);
    }
    return loaded;
}

PostHalt load_post_halt(std::string_view text) {
    const auto document = parse_document(text);
    return document ? read_only(document->root, "post_halt").settings.post_halt : PostHalt{};
}

LoadedLogbook load_logbook(std::string_view text) {
    const auto document = parse_document(text);
    if (!document) {
        return {{}, {document.error()}};
    }
    Reader reader;
    check_names(document->root, reader);
    LogbookSettings settings = read_only(document->root, "logbook", reader).settings.logbook;
    Diagnostics diagnostics = reader.take();
    std::erase_if(diagnostics, [](const Diagnostic& one) {
        return one.key != "logbook" && !one.key.starts_with("logbook.");
    });
    return {std::move(settings), std::move(diagnostics)};
}

std::vector<Feedback> load_feedback(std::string_view text) {
    auto document = parse_document(text);
    if (!document) {
        document = parse_document(parsable_feedback(text));
    }
    if (!document) {
        return {};
    }
    Draft draft = read_only(document->root, "feedback");
    std::vector<Feedback> shown;
    for (std::size_t at = 0; at < draft.settings.feedback.size(); ++at) {
        if (shows_fault(draft, at)) {
            shown.push_back(std::move(draft.settings.feedback[at]));
        }
    }
    return shown;
}

}  // namespace nightlatch::config
