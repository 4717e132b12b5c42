// SPDX-License-Identifier: MIT
// What holds a shutdown up, or off.
#include "audit/say.hpp"
#include "audit/service_rules.hpp"
#include "base/duration_text.hpp"
#include "base/text.hpp"
#include "config/diagnostic.hpp"

namespace nightlatch::audit {
namespace {

using namespace std::chrono_literals;

/// "sleep:shutdown" holds "shutdown" [org.freedesktop.login1(5), Inhibit()].
bool is_about_shutdown(const Inhibitor& lock) {
    return (":" + lock.what + ":").find(":shutdown:") != std::string::npos;
}

std::string holder(const Inhibitor& lock) {
    return in_quotes(lock.who) + " (uid " + std::to_string(lock.uid) + ", process " +
           std::to_string(lock.pid) + ")";
}

std::string shown(const Inhibitor& lock) {
    return in_quotes(lock.mode) + " lock of " + holder(lock) + " on " + in_quotes(lock.what) +
           ": " + in_quotes(lock.why);
}

Duration longest_hold(const core::Settings& settings) {
    return settings.stages.empty() ? Duration::zero() : settings.stages.back().hold;
}

/// Who else is waited for when the machine goes down.
void note_other_holders(const LoginFacts& login, Findings& findings) {
    if (!login.inhibitors) {
        return;
    }
    for (const Inhibitor& lock : *login.inhibitors) {
        if (is_about_shutdown(lock) && lock.mode == "delay" && lock.who != "Nightlatch") {
            Finding& finding = findings.note("",
                                             "going down waits for " + holder(lock) +
                                                 ", for up to " + to_text(*login.delay_limit) +
                                                 ": so long the cue `leaving` is all that shows");
            finding.evidence = {shown(lock)};
            finding.remedy = "nothing, if that program needs the time; else end it, or lower "
                             "InhibitDelayMaxSec= in /etc/systemd/logind.conf.d/";
        }
    }
}

}  // namespace

Judgement judge_inhibitors(const Scene& scene) {
    if (scene.facts->source != Source::live) {
        return NotApplicable{scene.facts->where + " does not run, so nobody holds a lock"};
    }
    const Known<LoginFacts>& login = scene.facts->login;
    if (!login) {
        return CannotTell{login.what_is_missing()};
    }
    if (!login->inhibitors) {
        return CannotTell{login->inhibitors.what_is_missing()};
    }
    // Without a configuration the default is as good a guess at what it will say as any.
    const bool respect =
        scene.settings == nullptr || scene.settings->core.inhibitors == core::Inhibitors::respect;
    Findings findings;
    for (const Inhibitor& lock : *login->inhibitors) {
        // "block-weak" too: it blocks whoever is not its holder's own user.
        if (!is_about_shutdown(lock) || !lock.mode.starts_with("block")) {
            continue;
        }
        Finding& finding =
            respect ? findings.warning(
                          "", holder(lock) + " blocks a shutdown now: the button would be refused")
                    : findings.note("",
                                    holder(lock) + " blocks a shutdown now, and the button would "
                                                   "cut short what it is doing");
        finding.evidence = {shown(lock)};
        finding.remedy = respect ? "let it finish, or end it; leave.inhibitors = \"override\" goes "
                                   "past every such lock, at the cost of what it protects"
                                 : "let it finish before you press";
    }
    return findings.or_pass("nobody holds a block lock on shutdown now");
}

Judgement judge_delay_limit(const Scene& scene) {
    const Known<LoginFacts>& login = scene.facts->login;
    if (!login) {
        return CannotTell{login.what_is_missing()};
    }
    if (!login->delay_limit) {
        return CannotTell{login->delay_limit.what_is_missing()};
    }
    if (scene.settings == nullptr) {
        return CannotTell{"the longest hold, of a configuration that can be used"};
    }
    const Duration hold = longest_hold(scene.settings->core);
    const std::string limit = to_text(*login->delay_limit);
    Findings findings;
    if (*login->delay_limit < hold) {
        Finding& finding = findings.note(
            "",
            "a shutdown that begins while the button is held goes on after " + limit +
                ", before a person who holds for " + to_text(hold) +
                " lets go; then only the helper at the very end waits for the release, 20 s at "
                "most");
        finding.evidence = {"InhibitDelayMaxSec = " + limit, "longest hold = " + to_text(hold)};
        finding.remedy = "/etc/systemd/logind.conf.d/nightlatch.conf:\n[Login]\n"
                         "InhibitDelayMaxSec=" +
                         std::to_string(std::chrono::ceil<std::chrono::seconds>(hold + 2s).count());
    }
    note_other_holders(*login, findings);
    return findings.or_pass("a shutdown waits up to " + limit +
                            " for the button to be let go, longer than the longest hold, " +
                            to_text(hold));
}

Judgement judge_stop_timeouts(const Scene& scene) {
    const Known<Duration>& limit = scene.facts->manager.default_stop_timeout;
    if (!limit) {
        return CannotTell{limit.what_is_missing()};
    }
    // systemd's own default; a person who waits for longer at a lit lamp pulls the plug.
    constexpr Duration usual = 90s;
    const bool endless = *limit == Duration::max();
    const std::string text = endless ? "no limit" : to_text(*limit);
    Findings findings;
    if (*limit > usual) {
        Finding& finding = findings.note(
            "",
            endless
                ? "a service that does not stop holds the power-off up until systemd forces it, "
                  "after half an hour"
                : "a service that does not stop holds the power-off up for " + text +
                      ": so long the person sees the cue `leaving`");
        finding.evidence = {"DefaultTimeoutStopSec = " + text + " (systemd's default is 90 s)"};
        finding.remedy = "/etc/systemd/system.conf.d/nightlatch.conf:\n[Manager]\n"
                         "DefaultTimeoutStopSec=20s\n"
                         "(a service that needs longer gets its own TimeoutStopSec=)";
    }
    return findings.or_pass("a service that does not stop holds the power-off up for " + text +
                            " at most, unless its own unit says more");
}

}  // namespace nightlatch::audit
