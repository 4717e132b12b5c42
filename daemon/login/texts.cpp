// SPDX-License-Identifier: MIT
#include "daemon/login/texts.hpp"

#include "base/text.hpp"
#include "daemon/bus/sd_bus.hpp"

namespace nightlatch::login {
namespace {

constexpr const char* base_rule = "/usr/share/polkit-1/rules.d/50-nightlatch.rules";
constexpr const char* override_rule = "/usr/share/nightlatch/nightlatch-override.rules";

constexpr const char* access_denied = "org.freedesktop.DBus.Error.AccessDenied";

bool is_policy(const std::string& name) {
    return name == "org.freedesktop.DBus.Error.InteractiveAuthorizationRequired" ||
           name == access_denied || name == "org.freedesktop.DBus.Error.AuthFailed";
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

std::string in_progress_text(core::BeingPrepared shutdown, const Refusal& refusal) {
    switch (shutdown) {
    case core::BeingPrepared::yes:
        return "a shutdown is under way already";
    case core::BeingPrepared::no:
        return "the system is about to sleep, and nothing else can be asked for until it has woken "
               "up: try again then; the login manager said: " +
               refusal.words;
    case core::BeingPrepared::cannot_tell:
        break;
    }
    return "a shutdown or a sleep is under way, and the login manager does not tell which: if the "
           "system does not go down, try again; it said: " +
           refusal.words;
}

std::string no_leave_text(std::string_view word,
                          core::Inhibitors inhibitors,
                          const std::optional<std::vector<Lock>>& locks) {
    const std::string said = in_quotes(std::string(word), longest_text);
    if (word == cannot_at_all) {
        return "the login manager says that this machine cannot do that (" + said + ")";
    }
    return refusal_text(
        {access_denied, "it may not be asked for (" + said + ")"}, inhibitors, locks);
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
