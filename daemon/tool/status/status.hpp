// SPDX-License-Identifier: MIT
#pragma once

#include "base/known.hpp"
#include "base/time.hpp"
#include "config/settings.hpp"
#include "daemon/tool/client/service_state.hpp"
#include "daemon/tool/logbook/pages.hpp"
#include "daemon/tool/options.hpp"
#include "page/page.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct StatusOptions {
    std::optional<std::string> config;
    bool json = false;
    bool prometheus = false;
    std::optional<std::string> output;  ///< a file in the place of standard output
};

/// What `status` goes by.
struct StatusFacts {
    std::optional<ServiceState> state;  ///< nothing: `absent` and `detail` say why
    Absent absent = Absent::no_service;
    std::string detail;
    Instant now{};
    Duration unix_now{};  ///< the same moment since 1970
    std::string file;     ///< the configuration's
    /// As it stands on disk; missing with what is wrong with it.
    Known<config::Settings> settings;
    /// Who holds the button's line, "" for nobody.
    Known<std::string> holder;
    std::string logbook_file;
    /// Missing with why it cannot be read; nothing else depends on it.
    Known<Pages> logbook;
};

/// Something that is not as it should be, and what to do about it. Safe text.
struct Wrong {
    std::string what;
    std::string next;
};

/// The most pressing first.
std::vector<Wrong> what_is_wrong(const StatusFacts& facts);

std::string status_text(const StatusFacts& facts, const page::Style& style);

/// For programs; see nightlatch-status.schema.json.
std::string status_json(const StatusFacts& facts);

/// Text format 0.0.4 [https://prometheus.io/docs/instrumenting/exposition_formats/].
std::string status_prometheus(const StatusFacts& facts);

void describe_status(Options& options, StatusOptions& into);

/// The command as a whole. 0: it runs and nothing is wrong; 1: else; 2: the output cannot be
/// written.
int run_status(const StatusOptions& options);

}  // namespace nightlatch::tool
