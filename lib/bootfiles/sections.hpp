// SPDX-License-Identifier: MIT
#pragma once

#include "bootfiles/intent.hpp"

#include <optional>

namespace nightlatch::bootfiles {

/// Does what stands here apply, and if not surely, why?
struct Applies {
    Certainty certainty = Certainty::yes;
    std::string condition;  ///< of a `no` or a `depends`, for people
};

/// Both must hold.
Applies both(const Applies& one, const Applies& other);

/// Does the model filter `[name]` hold for a board with this root `compatible`? Nothing when it is
/// no model filter.
///
/// Which filter holds for which model: the table of [raspberrypi/documentation,
/// config_txt/conditional.adoc]; which `compatible` a model has: [linux
/// Documentation/devicetree/bindings/arm/bcm/bcm2835.yaml] and, for models newer than what it
/// lists, the firmware's own trees. A board that neither lists depends, and so does one whose model
/// shares its tree with another.
std::optional<Certainty> model_filter(std::string_view name,
                                      const std::vector<std::string>& compatible);

/// The conditional filters that are in force, as [raspberrypi/documentation, conditional.adoc] has
/// them: a filter replaces the one of the same kind, filters of different kinds must all hold,
/// [all] drops them.
class Sections {
public:
    explicit Sections(const std::vector<std::string>& compatible) : compatible_(compatible) {}

    /// A line "[text]"; `text` as it stands between the brackets.
    void enter(std::string_view text);

    /// Of everything up to the next enter().
    [[nodiscard]] Applies applies() const;

    /// Counts the section lines: what has the same number stands or falls together.
    [[nodiscard]] unsigned number() const noexcept { return number_; }

private:
    enum class Kind : unsigned char {
        none,
        model,
        edid,
        hdmi,
        serial,
        gpio,
        tryboot,
        expression,
        other,
    };

    struct Filter {
        Kind kind{};
        std::string text;  ///< with its brackets
        Certainty certainty{};
        std::string_view why;
    };

    [[nodiscard]] Filter judged(std::string_view text) const;

    const std::vector<std::string>& compatible_;
    std::vector<Filter> filters_;
    unsigned number_ = 0;
};

}  // namespace nightlatch::bootfiles
