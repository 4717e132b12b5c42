// SPDX-License-Identifier: MIT
#pragma once

#include "circuit/parameters.hpp"
#include "circuit/read.hpp"

#include <array>
#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace nightlatch::circuit {

/// The texts of `[circuit]` by key, and the problems that reading them finds.
class Texts {
public:
    explicit Texts(std::span<const NamedText> texts) : texts_(texts) {}

    [[nodiscard]] std::span<const NamedText> all() const { return texts_; }

    /// The first of this key, or nothing.
    [[nodiscard]] const NamedText* find(std::string_view key) const;

    [[nodiscard]] bool has(std::string_view key) const { return find(key) != nullptr; }

    [[nodiscard]] bool is_none(std::string_view key) const;

    void problem(const NamedText& text, std::string sentence);
    void missing(std::string_view key, std::string sentence);

    /// Into `value`, when it is stated and right.
    void single(std::string_view key, Unit unit, Range range, double& value);

    /// The index of the word that the key has; 0 when it is not stated, or wrong.
    std::size_t word(std::string_view key, std::span<const std::string_view> words);

    /// By place in the file.
    std::vector<Problem> take_problems();

private:
    std::span<const NamedText> texts_;
    std::vector<Problem> problems_;
};

struct CapacitorClass;

/// The parts of the library that are named, their values and limits into `circuit`. The hold
/// capacitor's class, or nothing.
const CapacitorClass* read_parts(Texts& texts, Circuit& circuit);

/// The rating_keys(), and the derating of the hold capacitor's class.
void read_ratings(Texts& texts, Circuit& circuit, std::vector<Assumption>& assumed);

/// Which stages the circuit has, from what names them: `line_active`, `line_drive`, parts of the
/// library, `release_gain`, `latch_gain`, `button_gain`, `enable_threshold`.
class StatedStages {
public:
    StatedStages(Texts& texts, const Circuit& circuit);

    [[nodiscard]] bool has(Of of) const { return has_[static_cast<std::size_t>(of)]; }

    /// What a number without its stage lacks: "only beside release_gain or a bipolar …".
    [[nodiscard]] static std::string_view wanted_for(Of of) noexcept;

    [[nodiscard]] bool is_open_drain() const { return open_drain_; }

private:
    std::array<bool, stage_count> has_{};
    bool open_drain_ = false;
};

}  // namespace nightlatch::circuit
