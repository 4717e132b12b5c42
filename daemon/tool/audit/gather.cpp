// SPDX-License-Identifier: MIT
#include "daemon/facts/gather.hpp"

#include "audit/lines_named.hpp"
#include "audit/scene.hpp"
#include "daemon/facts/account.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/facts/kernel.hpp"
#include "daemon/facts/kernel_config.hpp"
#include "daemon/gpio/survey.hpp"
#include "daemon/login/facts.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/service_config.hpp"
#include "devicetree/blob.hpp"
#include "lines/suits.hpp"

#include <algorithm>

namespace nightlatch::tool {
namespace {

using audit::Facts;
using audit::Source;

constexpr std::size_t most_blob_bytes = std::size_t{32} << 20U;

/// A file that the person named must be there; the service's own may be missing, which is then a
/// finding.
Result<Known<audit::ConfigFacts>> read_config(const AuditOptions& options) {
    const std::string file = options.config.value_or(options.root + default_config);
    auto text = options.config ? sys::read_config_file(file, sys::TrustPolicy::anybody)
                               : read_service_config(options.root);
    if (text) {
        return Known(audit::ConfigFacts{file, config::load(*text)});
    }
    if (options.config) {
        return Unexpected{text.error()};
    }
    return Known<audit::ConfigFacts>::missing("a configuration: " + text.error().text);
}

Result<std::string> read_named(const std::string& path) {
    auto bytes = facts::read_named_file(path, most_blob_bytes);
    if (!bytes) {
        return Unexpected{Error{Trouble::other, bytes.error().text}};
    }
    return std::move(*bytes);
}

Result<devicetree::Tree> read_files(const AuditOptions& options) {
    auto base = read_named(options.tree);
    if (!base) {
        return Unexpected{base.error()};
    }
    std::vector<devicetree::Overlay> overlays;
    for (const std::string& name : options.overlays) {
        auto blob = read_named(name);
        if (!blob) {
            return Unexpected{blob.error()};
        }
        overlays.push_back({name, std::move(*blob)});
    }
    if (!overlays.empty()) {
        base = devicetree::apply_overlays(*base, overlays);
        if (!base) {
            return Unexpected{base.error()};
        }
    }
    auto tree = devicetree::read_blob(*base);
    if (!tree) {
        return Unexpected{Error{Trouble::other, options.tree + ": " + tree.error().text}};
    }
    return tree;
}

Outcome wrong_words(std::string text) {
    return Unexpected{Error{Trouble::other, std::move(text)}};
}

/// The kernel that will boot, where there is none that runs.
Outcome add_kernel(Facts& facts, const AuditOptions& options) {
    if (options.kernel.empty()) {
        return std::monostate{};
    }
    auto version = facts::kernel_version(options.kernel);
    if (!version) {
        return wrong_words("--kernel: " + in_quotes(options.kernel) +
                           " does not begin with a version like 6.12");
    }
    facts.kernel = std::move(*version);
    if (facts.source == Source::image) {
        facts.driver.configured = facts::read_post_halt_config(options.root, options.kernel);
    }
    return std::monostate{};
}

Outcome add_kernel_config(Facts& facts, const AuditOptions& options) {
    if (options.kernel_config.empty()) {
        return std::monostate{};
    }
    Result<std::string> text = read_named(options.kernel_config);
    if (text && text->starts_with("\x1f\x8b")) {  // gzip's mark [RFC 1952, 2.3.1]
        text = facts::unpacked(*text, facts::most_file_bytes);
    }
    if (!text) {
        return wrong_words("--kernel-config: " + text.error().text);
    }
    facts.driver.configured = facts::post_halt_in_config(*text, options.kernel_config);
    if (!facts.driver.configured) {
        return wrong_words("--kernel-config: " + facts.driver.configured.what_is_missing());
    }
    return std::monostate{};
}

/// What files tell that a person named.
Outcome add_named(Facts& facts, const AuditOptions& options) {
    if (!options.tree.empty()) {
        auto tree = read_files(options);
        if (!tree) {
            return Unexpected{tree.error()};
        }
        facts.tree = std::move(*tree);
        facts.where =
            facts.source == Source::image ? facts.where + " with " + options.tree : options.tree;
    }
    Outcome kernel = add_kernel(facts, options);
    return kernel ? add_kernel_config(facts, options) : kernel;
}

/// Only when asking cannot hurt: the line is named by the configuration in use, or its pin is known
/// to be GPIO now; a pin that is known to be something else is left alone.
Known<audit::RestLevel> rest_level(const Facts& facts, const audit::InputLine& input, bool in_use) {
    using Answer = Known<audit::RestLevel>;
    if (!input.placed) {
        return Answer::missing(input.placed.what_is_missing());
    }
    const auto is_ours = [&](const lines::Chip& chip) {
        return chip.name == input.placed->chip_name;
    };
    const auto chip = std::find_if(facts.chips->begin(), facts.chips->end(), is_ours);
    if (chip == facts.chips->end()) {
        return Answer::missing("the chip of " + input.what);
    }
    const lines::PinUse pin = lines::pin_use(facts.pins, *chip, input.placed->offset);
    if (pin.now == lines::PinNow::other) {
        return Answer::missing("the level of " + input.what + ": its pin is " + pin.what +
                               " now, and asking for the line would take it away");
    }
    if (pin.now == lines::PinNow::unknown && !in_use) {
        return Answer::missing("the level of " + input.what +
                               ": whether its pin is GPIO now is not known (" + pin.what +
                               "), and asking could switch it");
    }
    const lines::LineName where{chip->name, std::to_string(input.placed->offset)};
    return gpio::read_rest_level({}, {where, input.bias, input.active_low, false});
}

/// What a running board adds, in the order in which one needs the other.
void add_live(Facts& facts, bool in_use) {
    gpio::Survey survey = gpio::survey();
    facts.chips = survey.chips.empty() && !survey.unseen.empty()
                      ? Known<std::vector<lines::Chip>>::missing(survey.unseen.front().error.text)
                      : Known(std::move(survey.chips));
    login::BusAnswers answers = login::read_bus_answers();
    facts.login = std::move(answers.login);
    facts.manager = std::move(answers.manager);
    if (!facts.config || !facts.config->loaded.settings || !facts.chips) {
        return;
    }
    const audit::Scene scene = audit::make_scene(facts);
    facts.account.chips = facts::read_chip_access("", audit::chips_of(audit::opened_lines(scene)));
    std::vector<Known<audit::RestLevel>> levels;
    for (const audit::InputLine& input : scene.inputs) {
        levels.push_back(rest_level(facts, input, in_use));
    }
    facts.button_level = levels.front();
    levels.erase(levels.begin());
    facts.alarm_levels = std::move(levels);
}

}  // namespace

Result<Facts> gather(const AuditOptions& options) {
    auto config = read_config(options);
    if (!config) {
        return Unexpected{config.error()};
    }
    const Source source = !options.root.empty()   ? Source::image
                          : !options.tree.empty() ? Source::files
                                                  : Source::live;
    if (source == Source::live && !(options.kernel + options.kernel_config).empty()) {
        return Unexpected{
            Error{Trouble::other,
                  "--kernel and --kernel-config go with --root or --tree: of a running "
                  "board the kernel is known"}};
    }
    Facts facts = facts::gather({source, options.root});
    facts.config = std::move(*config);
    if (source == Source::live) {
        add_live(facts, !options.config);
    } else if (Outcome named = add_named(facts, options); !named) {
        return Unexpected{named.error()};
    }
    return facts;
}

}  // namespace nightlatch::tool
