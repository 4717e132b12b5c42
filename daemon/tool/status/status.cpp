// SPDX-License-Identifier: MIT
#include "daemon/tool/status/status.hpp"

#include "config/load.hpp"
#include "daemon/gpio/survey.hpp"
#include "daemon/sys/config_file.hpp"
#include "daemon/sys/small_file.hpp"
#include "daemon/tool/check/check.hpp"
#include "daemon/tool/client/once.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/pick_lines.hpp"
#include "daemon/tool/terminal.hpp"

#include <chrono>

namespace nightlatch::tool {
namespace {

Known<config::Settings> settings_in(const Result<std::string>& text, const std::string& file) {
    using Missing = Known<config::Settings>;
    if (!text) {
        return Missing::missing(text.error().text);
    }
    config::Loaded loaded = config::load(*text);
    if (loaded.settings) {
        return *std::move(loaded.settings);
    }
    for (const config::Diagnostic& one : loaded.diagnostics) {
        if (one.severity == Severity::error) {
            return Missing::missing(config::to_text(one, file));
        }
    }
    return Missing::missing(file + " is bad");
}

/// Opens the chips' devices, and asks for no line.
Known<std::string> holder_of(const lines::LineName& where) {
    using Missing = Known<std::string>;
    const gpio::Survey survey = gpio::survey();
    const auto line = pick_line(survey.chips, where.line, where.chip);
    if (!line) {
        return Missing::missing(survey.unseen.empty() ? line.error()
                                                      : survey.unseen.front().error.text);
    }
    const lines::Line& now = survey.chips[line->chip].lines[line->offset];
    return !now.used ? "" : now.consumer.empty() ? "somebody" : now.consumer;
}

Known<Pages> logbook_in(const std::string& file) {
    Result<Pages> pages = read_pages(file);
    return pages ? Known<Pages>(std::move(*pages)) : Known<Pages>::missing(pages.error().text);
}

StatusFacts gather_status(const StatusOptions& options, SeenOnce seen) {
    StatusFacts facts;
    facts.now = seen.now;
    facts.unix_now = std::chrono::system_clock::now().time_since_epoch();
    facts.absent = seen.absent;
    facts.detail = seen.detail;
    facts.state = std::move(seen.state);
    facts.file = options.config.value_or(facts.state ? facts.state->configuration.path
                                                     : std::string(default_config));
    const auto text = sys::read_config_file(facts.file, sys::TrustPolicy::anybody);
    facts.settings = settings_in(text, facts.file);
    facts.logbook_file =
        (text ? config::load_logbook(*text).settings : config::LogbookSettings{}).path;
    facts.logbook = logbook_in(facts.logbook_file);
    if (facts.state) {
        facts.holder = holder_of({facts.state->line.chip, facts.state->line.line});
    } else if (facts.settings) {
        facts.holder = holder_of(facts.settings->button.where);
    }
    return facts;
}

std::string answer(const StatusOptions& options, const StatusFacts& facts) {
    if (options.prometheus) {
        return status_prometheus(facts);
    }
    return options.json ? status_json(facts) : status_text(facts, style_of_output());
}

}  // namespace

int run_status(const StatusOptions& options) {
    Result<SeenOnce> seen = see_once();
    if (!seen) {
        return complain(seen.error().text, 1);
    }
    const StatusFacts facts = gather_status(options, std::move(*seen));
    const std::string text = answer(options, facts);
    if (!options.output) {
        print(text);
    } else if (const Outcome written = sys::replace_file(
                   *options.output, text, "check that its folder is there, and has room for you");
               !written) {
        return complain(written.error().text, no_answer);
    }
    const std::vector<Wrong> wrong = what_is_wrong(facts);
    if (!wrong.empty() && options.prometheus) {
        complain(wrong.front().what, 1);  // where the metrics do not say it
    }
    return wrong.empty() ? 0 : 1;
}

}  // namespace nightlatch::tool
