// SPDX-License-Identifier: MIT
// audit --save and --against: the facts that the verdict rests on, kept and compared.
#include "audit/grounds.hpp"

#include "audit/comparison.hpp"
#include "base/text.hpp"
#include "core/verdict_word.hpp"
#include "daemon/facts/files.hpp"
#include "daemon/tool/audit/audit.hpp"
#include "daemon/tool/json.hpp"
#include "daemon/tool/output.hpp"
#include "daemon/tool/terminal.hpp"

#include <cstdio>

namespace nightlatch::tool {
namespace {

Json json_of(const Known<std::string>& fact) {
    return fact ? Json(*fact) : Json();
}

Json changes_json(const std::vector<audit::Change>& changes) {
    Json list = Json::array();
    for (const audit::Change& change : changes) {
        list.push_back({{"key", change.key},
                        {"then", json_of(change.then)},
                        {"now", json_of(change.now)},
                        {"matters", change.matters},
                        {"means", change.so}});
    }
    return list;
}

std::string against_json(const audit::Comparison& comparison, const std::string& file) {
    const Json whole{{"file", file},
                     {"as_it_was", audit::is_as_it_was(comparison)},
                     {"verdict", core::word_of(comparison.verdict)},
                     {"reason", comparison.reason},
                     {"verdict_then", comparison.verdict_then},
                     {"version_then", comparison.version},
                     {"same", comparison.same},
                     {"changed", changes_json(comparison.changed)},
                     {"unseen", changes_json(comparison.unseen)},
                     {"unknown_then", changes_json(comparison.unknown)}};
    return json_text("nightlatch-audit-against", 1, whole);
}

}  // namespace

audit::Grounds grounds_now(const audit::Facts& facts, core::Verdict verdict) {
    return audit::grounds_of(audit::make_scene(facts), verdict, NIGHTLATCH_VERSION);
}

Outcome save_grounds(const audit::Facts& facts, const std::string& file) {
    const audit::Grounds grounds = grounds_now(facts, audit::judge_post_halt(facts).verdict);
    Outcome written = write_file(file, audit::to_text(grounds));
    if (!written) {
        return written;
    }
    std::size_t unseen = 0;
    for (const auto& [key, fact] : grounds.facts) {
        unseen += fact ? 0U : 1U;
    }
    say(stderr,
        counted(grounds.facts.size() - unseen, "fact") + " kept in " + safe(file) + ", " +
            std::to_string(unseen) + " could not be seen\n");
    return std::monostate{};
}

int run_against(const audit::Facts& facts, const AuditOptions& options) {
    const auto bytes = facts::read_file("", options.against, audit::most_grounds_bytes);
    if (!bytes) {
        return complain(bytes.error().text);
    }
    const auto then = audit::read_grounds(*bytes);
    if (!then) {
        return complain(safe(options.against) + ":" + then.error());
    }
    const audit::VerdictResult verdict = audit::judge_post_halt(facts);
    const audit::Comparison comparison =
        audit::compare(*then, grounds_now(facts, verdict.verdict), verdict);
    print(options.json ? against_json(comparison, options.against)
                       : audit::to_text(comparison, options.against, style_of_output()));
    return audit::is_as_it_was(comparison) ? 0 : 1;
}

}  // namespace nightlatch::tool
