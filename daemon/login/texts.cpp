// SPDX-License-Identifier: MIT
#include "daemon/login/texts.hpp"

#include "base/text.hpp"
#include "daemon/bus/sd_bus.hpp"

namespace nightlatch::login {
namespace {

constexpr const char* base_rule = "/usr/share/polkit-1/rules.d/50-nightlatch.rules";
constexpr const char* override_rule = "/usr/share/nightlatch/nightlatch-override.rules";

bool is_policy(const std::string& name) {
    return name == "org.freedesktop.DBus.Error.InteractiveAuthorizationRequired" ||
           name == "org.freedesktop.DBus.Error.AccessDenied" ||
           name == "org.freedesktop.DBus.Error.AuthFailed";
}

}  // namespace

std::string words_of(sd_bus_message* reply) {
    const sd_bus_error* error = sd_bus_message_get_error(reply);
    if (error == nullptr) {
        return "an answer that cannot be read";
    }
    const std::string name = shortened(error->name != nullptr ? error->name : "", longest_text);
    const std::string words =
        shortened(error->message != nullptr ? error->message : "", longest_text);
    return words.empty() ? name : words + " (" + name + ")";
}

std::string verb_of(core::Action action) {
    return action == core::Action::reboot ? "reboot" : "power off";
}

std::string blocked_text(const std::vector<Lock>& locks) {
    return "blocked by " + text_of(locks);
}

std::string refusal_text(const Refusal& refusal,
                         core::Inhibitors inhibitors,
                         const std::optional<std::vector<Lock>>& locks) {
    const std::string said = "the login manager said: " + refusal.words;
    if (locks && !locks->empty() && inhibitors == core::Inhibitors::respect) {
        return blocked_text(*locks) + "; " + said;
    }
    if (locks && !locks->empty()) {
        return blocked_text(*locks) +
               ", and this service may not pass locks: inhibitors = \"override\" needs the second "
               "polkit rule, copy " +
               override_rule + " to /etc/polkit-1/rules.d/; " + said;
    }
    const std::string about_locks = locks ? "no lock is held" : "the list of locks cannot be read";
    if (is_policy(refusal.name)) {
        return "not permitted, and " + about_locks + ": is polkitd installed, and " + base_rule +
               " in place, naming this service's user? " + said;
    }
    return said + " (" + about_locks + ")";
}

std::string no_delay_lock_text(sd_bus_message* reply) {
    return "a shutdown asked for by others cannot be held back while the button is pressed: " +
           words_of(reply) + "; is polkitd installed, and " + base_rule + " in place?";
}

std::string too_much_allowed_text(core::Action action) {
    return "inhibitors = \"respect\", but polkit lets this service pass other programs' locks "
           "(org.freedesktop.login1." +
           std::string(action == core::Action::reboot ? "reboot" : "power-off") +
           "-ignore-inhibit), and an older login manager would then do so unasked: remove "
           "nightlatch-override.rules, or whichever rule grants it, from /etc/polkit-1/rules.d/";
}

}  // namespace nightlatch::login
