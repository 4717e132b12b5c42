// SPDX-License-Identifier: MIT
#include "hold_up/read.hpp"

#include "base/nearest.hpp"
#include "base/text.hpp"
#include "hold_up/keys.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::hold_up {
namespace {

using circuit::NamedText;
using circuit::to_text;

/// A cell of 0.2 V more than its end and one that begins there differ by the meter's error.
constexpr double least_range = 0.05;  // V
/// From here on a capacitor is sold as a supercapacitor, or is as large as one.
constexpr double least_super = 0.1;  // F

class HoldUpReader {
public:
    HoldUpReader(std::span<const NamedText> texts, const Surroundings& surroundings)
        : surroundings_(surroundings) {
        for (const NamedText& text : texts) {
            if (text.key.starts_with(prefix)) {
                texts_.push_back({text.key.substr(prefix.size()), text.text, text.place});
            }
        }
    }

    HoldUpRead run() {
        find_unknown();
        read_capacity();
        for (const Key& key : keys()) {
            if (key.spread != &HoldUp::capacity) {
                read_spread(key);
            }
        }
        read_margin();
        read_esr();
        read_load();
        read_notice();
        check_voltages();
        for (const std::string_view key : {"from_voltage", "time_to_go_down"}) {
            require(key);
        }
        std::stable_sort(
            read_.problems.begin(), read_.problems.end(), [](const auto& one, const auto& other) {
                return one.place < other.place;
            });
        if (read_.problems.empty()) {
            read_.hold_up = hold_up_;
        }
        return std::move(read_);
    }

private:
    [[nodiscard]] const NamedText* text_of(std::string_view key) const {
        const auto found = std::find_if(
            texts_.begin(), texts_.end(), [&](const NamedText& text) { return text.key == key; });
        return found == texts_.end() ? nullptr : &*found;
    }

    void problem(const NamedText& text, std::string sentence) {
        read_.problems.push_back({text.place, std::string(prefix) + text.key, std::move(sentence)});
    }

    void missing(std::string_view key, const std::string& sentence) {
        read_.problems.push_back(
            {{}, std::string(prefix) + std::string(key), "is missing: " + sentence});
    }

    void assume(std::string_view words, const std::string& what) {
        read_.assumptions.push_back(std::string(words) + " is not stated: " + what);
    }

    void find_unknown() {
        const std::vector<std::string_view> known = key_names();
        for (const NamedText& text : texts_) {
            if (std::find(known.begin(), known.end(), text.key) == known.end()) {
                const auto near = nearest(text.key, known);
                problem(text,
                        near ? "is unknown; did you mean " + std::string(*near) + "?"
                             : std::string("is unknown"));
            }
        }
    }

    void require(std::string_view name) {
        const auto key = std::find_if(
            keys().begin(), keys().end(), [&](const Key& one) { return one.name == name; });
        if (text_of(name) == nullptr) {
            missing(name, std::string(key->words));
        }
    }

    void read_spread(const Key& key) {
        const NamedText* text = text_of(key.name);
        if (text == nullptr) {
            return;
        }
        Spread& spread = hold_up_.*key.spread;
        if (text->text == "none") {
            const bool may_be = key.spread == &HoldUp::esr || key.spread == &HoldUp::noticed_after;
            if (!may_be) {
                problem(*text, "cannot be none; leave the key out where it does not apply");
            }
            return;
        }
        const auto read = circuit::parse_spread(text->text, key.unit, key.range);
        if (read) {
            spread = read->spread;
        } else {
            problem(*text, read.error());
        }
    }

    /// Its unit says what it is.
    void read_capacity() {
        const NamedText* text = text_of("capacity");
        if (text == nullptr) {
            missing("capacity",
                    R"(of a capacitor in F, of a cell in Ah or Wh: "10 F -20 +20 %", "0.4 Wh")");
            return;
        }
        const std::string_view value = text->text;
        hold_up_.unit = value.find("Wh") != std::string_view::npos   ? Unit::watt_hour
                        : value.find("Ah") != std::string_view::npos ? Unit::ampere_hour
                                                                     : Unit::farad;
        for (const Key& key : keys()) {
            if (key.spread == &HoldUp::capacity && key.unit == hold_up_.unit) {
                read_spread(key);
            }
        }
        if (text_of("end_of_life") == nullptr) {
            const bool super =
                hold_up_.unit == Unit::farad && hold_up_.capacity.typical >= least_super;
            const double left = super ? 0.7 : 0.8;
            hold_up_.end_of_life = {left, 1.0, 1.0};
            assume("what is left of its capacity at the end of its life",
                   circuit::number_text(left) +
                       (super ? " is assumed (how makers of supercapacitors define that end: "
                                "30 % less; common practice, no source)"
                              : " is assumed (common practice, no source)"));
        }
    }

    void read_margin() {
        if (const NamedText* text = text_of("margin")) {
            const auto read = circuit::parse_quantity(text->text, Unit::second, margin_range);
            if (read) {
                hold_up_.margin = *read;
            } else {
                problem(*text, read.error());
            }
        }
    }

    void read_esr() {
        const NamedText* text = text_of("esr");
        if (text == nullptr) {
            missing("esr",
                    "the ESR of the capacitor or the cell, with the wires to it; if it does not "
                    "matter, say \"none\"");
        } else if (hold_up_.esr.is_exact() && hold_up_.esr.most > 0.0) {
            // The same definition of the end of life that takes 30 % of the capacitance.
            hold_up_.esr.most *= 2.0;
            assume("the ESR at the end of its life",
                   "up to twice what is stated is assumed (common practice, no source)");
        }
    }

    void read_load() {
        const NamedText* power = text_of("power");
        const NamedText* current = text_of("current");
        const NamedText* behind = text_of("board_voltage");
        const NamedText* efficiency = text_of("efficiency");
        if (power == nullptr && current == nullptr) {
            missing("power",
                    "the board's power while it goes down, or instead of it its current and "
                    "board_voltage, or the current out of the store");
        } else if (power != nullptr && current != nullptr) {
            problem(*current, "is stated beside power; one of the two is wanted");
        } else if (power != nullptr && behind != nullptr) {
            problem(*behind, "goes with current; with power it has no part");
        }
        if (efficiency == nullptr && (power != nullptr || behind != nullptr)) {
            missing("efficiency",
                    "what the converter hands on of what it takes, as in \"85 %\"; \"1\" where "
                    "there is no converter");
        } else if (efficiency != nullptr && power == nullptr && behind == nullptr) {
            problem(*efficiency,
                    "goes with power, or with current and board_voltage; a current alone is what "
                    "comes out of the store, as through a linear regulator");
        }
    }

    void read_notice() {
        Notice& notice = read_.notice;
        const NamedText* stated = text_of("noticed_after");
        const NamedText* named = text_of("alarm");
        if (stated != nullptr) {
            if (named != nullptr) {
                problem(*named, "is stated beside noticed_after; one of the two is wanted");
            }
            return;
        }
        if (!surroundings_.known) {
            missing("noticed_after",
                    "how long until the failure has become a request for power-off; an [[alarm]] "
                    "with action = \"power-off\" says it as well, in a configuration without "
                    "errors (nightlatch check)");
            return;
        }
        if (const PowerOffAlarm* alarm = alarm_for(named)) {
            const double after = std::max(alarm->lasting, surroundings_.debounce);
            hold_up_.noticed_after = Spread::exactly(after);
            notice = {Notice::By::alarm, alarm->name, alarm->respects, surroundings_.debounce};
        } else if (named == nullptr) {
            hold_up_.noticed_after = Spread::exactly(surroundings_.by_button);
            notice.by = Notice::By::button;
        }
    }

    const PowerOffAlarm* alarm_for(const NamedText* named) {
        const auto& alarms = surroundings_.alarms;
        if (named == nullptr) {
            const auto longest = std::max_element(
                alarms.begin(), alarms.end(), [](const auto& one, const auto& other) {
                    return one.lasting < other.lasting;
                });
            if (alarms.size() > 1) {
                assume("which alarm tells of the failure",
                       in_quotes(longest->name) + " is assumed, which lasts longest (alarm = …)");
            }
            return alarms.empty() ? nullptr : &*longest;
        }
        const auto found = std::find_if(
            alarms.begin(), alarms.end(), [&](const auto& one) { return one.name == named->text; });
        if (found != alarms.end()) {
            return &*found;
        }
        std::vector<std::string_view> names;
        std::string list;
        names.reserve(alarms.size());
        for (const PowerOffAlarm& one : alarms) {
            names.push_back(one.name);
            list += (list.empty() ? "" : ", ") + in_quotes(one.name);
        }
        const auto near = nearest(named->text, names);
        problem(*named,
                "no [[alarm]] with action = \"power-off\" is named so" +
                    (near ? "; did you mean " + in_quotes(*near) + "?"
                          : std::string(list.empty() ? "; there is none" : "; there are ") + list));
        return nullptr;
    }

    void check_voltages() {
        const NamedText* from = text_of("from_voltage");
        if (text_of("to_voltage") == nullptr && text_of("cut_out") == nullptr) {
            missing("cut_out",
                    "the converter's input voltage below which it stops; or to_voltage, to which "
                    "the store may fall");
            return;
        }
        const double from_least = hold_up_.from_voltage.typical;
        const double end = std::max(hold_up_.to_voltage.typical, hold_up_.cut_out.typical);
        if (from != nullptr && from_least > 0.0 && end > from_least - least_range) {
            problem(*from,
                    "is " + to_text(from_least, Unit::volt) + ", but it ends at " +
                        to_text(end, Unit::volt) + " already");
        }
    }

    const Surroundings& surroundings_;
    std::vector<NamedText> texts_;
    HoldUp hold_up_;
    HoldUpRead read_;
};

}  // namespace

HoldUpRead read_hold_up(std::span<const circuit::NamedText> texts,
                        const Surroundings& surroundings) {
    return HoldUpReader(texts, surroundings).run();
}

bool is_stated(std::span<const circuit::NamedText> texts) {
    return std::any_of(texts.begin(), texts.end(), [](const circuit::NamedText& text) {
        return text.key.starts_with(prefix);
    });
}

}  // namespace nightlatch::hold_up
