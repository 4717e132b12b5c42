// SPDX-License-Identifier: MIT
// Who else than our button can press a power key, and who listens to it.
#include "audit/button.hpp"
#include "audit/claims.hpp"
#include "audit/say.hpp"
#include "base/text.hpp"

#include <algorithm>

namespace nightlatch::audit::button {
namespace {

bool has_key_of(const Scene& scene, const InputLine& input, const std::string& node) {
    const auto line = input.placed ? in_tree(*input.placed) : std::nullopt;
    return line && std::any_of(scene.inventory.keys.begin(),
                               scene.inventory.keys.end(),
                               [&](const devicetree::Key& key) {
                                   const auto parent = scene.tree->node(key.node).parent;
                                   return key.enabled && key.line && key.line->same_line(*line) &&
                                          scene.tree->path_of(parent) == node;
                               });
}

/// Is it a key of an input line? Then is_no_key() speaks of it.
bool is_our_key(const Scene& scene, const PowerKeySource& source) {
    return scene.tree != nullptr && !source.node.empty() &&
           std::any_of(scene.inputs.begin(), scene.inputs.end(), [&](const InputLine& input) {
               return has_key_of(scene, input, source.node);
           });
}

bool suppressed(const std::string& block_inhibited) {
    const std::string list = ":" + block_inhibited + ":";
    return list.find(":handle-power-key:") != std::string::npos;
}

std::string codes_of(const PowerKeySource& source) {
    std::string text;
    for (const unsigned code : source.codes) {
        text += (text.empty() ? "" : ", ") + key_name(code);
    }
    return text;
}

std::string place_of(const PowerKeySource& source) {
    return "/dev/input/" + source.device;
}

std::string what_it_is(const PowerKeySource& source) {
    return "it is " + std::string(text_of(kind_of(source))) +
           (source.driver.empty() ? "" : ", of the driver " + source.driver) +
           (source.node.empty() ? "" : ", at " + source.node);
}

/// What takes this key away from the login manager: the device tree where the key has a node, else
/// the device's tag; for all keys at once the login manager's own setting.
std::string remedy_for(const PowerKeySource& source) {
    const KeyKind kind = kind_of(source);
    std::string text = "If this key must not switch off: ";
    if (kind == KeyKind::tree && !source.node.empty()) {
        text += "take its node out of the device tree, or give it status = \"disabled\" (" +
                source.node + "). Or without the tree, for this device alone: ";
    } else if (kind == KeyKind::power_chip) {
        text += "no edit of the device tree removes it without the chip. For this device alone: ";
    } else {
        text += "it has no node in the device tree. For this device alone: ";
    }
    return text + untag_rule(source) +
           "\nor for every power key: /etc/systemd/logind.conf.d/power-key.conf\n"
           "    [Login]\n    HandlePowerKey=ignore\nthen reboot.";
}

void say_power_key(const PowerKeySource& source, const std::string& handle, Findings& findings) {
    Finding& finding =
        findings.warning(place_of(source),
                         "The login manager acts on the power key of " + in_quotes(source.name) +
                             " at its press, without a hold time and whatever our button does.");
    finding.evidence = {"it has udev's tag power-switch and sends " + codes_of(source),
                        what_it_is(source),
                        "HandlePowerKey = " + handle};
    finding.remedy = remedy_for(source);
}

void say_other_key(const PowerKeySource& source, Findings& findings) {
    Finding& finding = findings.note(place_of(source),
                                     "The login manager watches " + in_quotes(source.name) +
                                         ", which can suspend or restart the board.");
    finding.evidence = {"it has udev's tag power-switch and sends " + codes_of(source),
                        what_it_is(source)};
    finding.remedy = "See HandleSuspendKey, HandleHibernateKey and HandleRebootKey in "
                     "logind.conf(5).";
}

/// What the login manager will do at the key; gives what is missing to tell, if anything is.
std::string look_at_power_key(const Scene& scene,
                              const PowerKeySource& source,
                              Findings& findings) {
    const Known<LoginFacts>& login = scene.facts->login;
    if (!login) {
        return login.what_is_missing();
    }
    if (!login->handle_power_key) {
        return login->handle_power_key.what_is_missing();
    }
    if (*login->handle_power_key != "ignore" &&
        !(login->block_inhibited && suppressed(*login->block_inhibited))) {
        say_power_key(source, *login->handle_power_key, findings);
    }
    return "";
}

std::string why_nobody(LoginUnit unit) {
    return unit == LoginUnit::masked ? "systemd-logind.service is masked"
                                     : "there is no systemd-logind.service";
}

void say_nobody(const Scene& scene, const PowerKeySource& source, Findings& findings) {
    Finding& finding =
        findings.note(place_of(source),
                      "Nobody listens to the power key of " + in_quotes(source.name) +
                          ": a press of it does nothing, whatever the device tree says.");
    finding.evidence = {why_nobody(*scene.facts->login_unit), what_it_is(source)};
    finding.remedy = *scene.facts->login_unit == LoginUnit::masked
                         ? "If it shall switch off: sudo systemctl unmask systemd-logind"
                         : "If it shall switch off: put its line into [button] instead, and take "
                           "its node out of the tree; without a login manager the service needs "
                           "the second route, see nightlatchd(8).";
}

void say_readers(const PowerKeySource& source,
                 const std::vector<std::string>& readers,
                 Findings& findings) {
    std::string names;
    for (const std::string& reader : readers) {
        names += (names.empty() ? "" : ", ") + safe(reader);
    }
    Finding& finding = findings.note(place_of(source),
                                     "Beside the login manager " + names +
                                         " has the power key of " + in_quotes(source.name) +
                                         " open, and may act on it by a setting of its own.");
    finding.evidence = {what_it_is(source)};
    finding.remedy = "See that program's own settings for the power key; the login manager's do "
                     "not bind it.";
}

}  // namespace

Judgement no_power_key(const Scene& scene) {
    if (!scene.facts->power_keys) {
        return CannotTell{scene.facts->power_keys.what_is_missing()};
    }
    if (is_without_login_manager(*scene.facts)) {
        return NotApplicable{"there is no login manager that could act on one"};
    }
    Findings findings;
    std::string unknown;
    bool ours = false;
    for (const PowerKeySource& source : *scene.facts->power_keys) {
        if (!source.tagged || source.codes.empty()) {
            continue;
        }
        if (is_our_key(scene, source)) {
            ours = true;
        } else if (!sends_power(source)) {
            say_other_key(source, findings);
        } else if (std::string missing = look_at_power_key(scene, source, findings);
                   !missing.empty()) {
            unknown = std::move(missing);
        }
    }
    if (findings.empty() && !unknown.empty()) {
        return CannotTell{"what the login manager does at a power key: " + unknown};
    }
    if (findings.empty() && ours) {
        return NotApplicable{"the only power key is on " + input_lines(scene) + ": see button-key"};
    }
    return findings.or_pass("no power key acts on its own");
}

Judgement listeners_are_known(const Scene& scene) {
    if (!scene.facts->power_keys) {
        return CannotTell{scene.facts->power_keys.what_is_missing()};
    }
    Findings findings;
    std::string unknown;
    bool any = false;
    for (const PowerKeySource& source : *scene.facts->power_keys) {
        if (!sends_power(source)) {
            continue;
        }
        any = true;
        const std::vector<std::string> others = other_readers(source);
        if (!others.empty()) {
            say_readers(source, others, findings);
        } else if (!source.readers) {
            unknown = source.readers.what_is_missing();
        } else if (is_without_login_manager(*scene.facts)) {
            say_nobody(scene, source, findings);
        }
    }
    if (findings.empty() && !unknown.empty()) {
        return CannotTell{"who has a power key open: " + unknown};
    }
    return findings.or_pass(any ? "no program but the login manager has a power key open"
                                : "there is no power key");
}

}  // namespace nightlatch::audit::button
