// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/check/check.hpp"
#include "daemon/tool/wave_file.hpp"
#include "page/page.hpp"
#include "rehearsal/expectations.hpp"
#include "rehearsal/rehearsal.hpp"

#include <optional>
#include <string>
#include <vector>

namespace nightlatch::tool {

struct RehearseOptions {
    std::optional<std::string> script;  ///< without one (and without a wave) the built-in presses
    std::optional<std::string> config;  ///< without one, the file that the service reads
    std::optional<std::string> wave;    ///< a VCD or CSV capture: what the button does
    WaveChoice of_wave;
    std::optional<std::string> svg;
    bool narrow = false;  ///< the picture
    std::optional<std::string> vcd;
    bool json = false;
    bool all = false;           ///< every edge, and what the core noted
    bool expect = false;        ///< only whether the expectations are met
    bool print_expect = false;  ///< the expectations that this run meets
};

struct RehearseReport {
    std::string config;  ///< as the person named it
    std::string script;  ///< the file, or what stands for it
    rehearsal::Rehearsal rehearsal;
    std::vector<rehearsal::Checked> expectations;
    bool all = false;
};

/// The account line by line, and in the end what would have been asked of the system.
std::string rehearse_text(const RehearseReport& report, const page::Style& style = {});

/// Whether the expectations are met, and where not, what came instead.
std::string expectations_text(const RehearseReport& report, const page::Style& style = {});

/// The same for programs; see nightlatch-rehearse(1).
std::string rehearse_json(const RehearseReport& report);

/// 0 fine, 1 an expectation is not met.
int rehearse_status(const RehearseReport& report);

/// What `rehearse` can be told.
void describe_rehearse(Options& options, RehearseOptions& into);

/// The command as a whole. 2: a file cannot be read, or says something that is not understood.
int run_rehearse(const RehearseOptions& options);

}  // namespace nightlatch::tool
