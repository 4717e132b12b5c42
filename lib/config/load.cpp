// SPDX-License-Identifier: MIT
#include "config/load.hpp"

#include "config/circuit_section.hpp"
#include "config/document.hpp"
#include "config/draft.hpp"
#include "config/names.hpp"
#include "config/read_value.hpp"

#include <algorithm>
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
        if (const Entry* entry = find(*section.table, name)) {
            if (auto value = read_value(key, entry->value, full_key(section, name), reader_)) {
                take(key, *value, entry->value.place);
            }
        } else if (key.absent == Absent::wrong) {
            reader_.missing(section, name, remedy_for_missing(key));
        } else if (key.absent == Absent::standard) {
            draft_.keys.push_back({&key, at_, section.place});
        }
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

}  // namespace

Loaded load(std::string_view text) {
    const auto document = parse_document(text);
    if (!document) {
        return {std::nullopt, {document.error()}};
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
    Loaded loaded{std::nullopt, reader.take()};
    if (!has_errors(loaded.diagnostics)) {
        auto& stages = draft.settings.core.stages;
        std::sort(stages.begin(), stages.end(), [](const core::Stage& a, const core::Stage& b) {
            return a.hold < b.hold;
        });
        loaded.settings = std::move(draft.settings);
    }
    return loaded;
}

}  // namespace nightlatch::config
