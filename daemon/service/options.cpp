// SPDX-License-Identifier: MIT
#include "daemon/service/options.hpp"

#include "base/text.hpp"

#include <array>

#include <getopt.h>

namespace nightlatch::service {

namespace {

/// Nobody means this machine to go down who plays a press script, unless they say so.
Result<Options> checked(Options options) {
    const bool odd = options.for_real && (!options.simulated || options.dry_run);
    if (odd) {
        return Unexpected{Error{Trouble::other,
                                "--ask-this-machine goes with --simulated, and not with "
                                "--dry-run; see nightlatchd --help"}};
    }
    options.dry_run = options.dry_run || (options.simulated && !options.for_real);
    return options;
}

}  // namespace

// One case an option. NOLINTNEXTLINE(readability-function-size)
Result<Options> parse_options(int argc, char** argv) {
    static constexpr std::array<option, 7> known{{{"config", required_argument, nullptr, 'c'},
                                                  {"simulated", required_argument, nullptr, 's'},
                                                  {"dry-run", no_argument, nullptr, 'n'},
                                                  {"ask-this-machine", no_argument, nullptr, 'r'},
                                                  {"help", no_argument, nullptr, 'h'},
                                                  {"version", no_argument, nullptr, 'V'},
                                                  {nullptr, 0, nullptr, 0}}};
    Options options;
    opterr = 0;  // the sentence below is ours
    optind = 1;
    const auto refused = [&](const std::string& what) {
        return Unexpected{Error{Trouble::other, what + "; see nightlatchd --help"}};
    };
    for (;;) {
        const int at = optind;
        switch (getopt_long(argc, argv, ":hV", known.data(), nullptr)) {
        case -1:
            if (optind < argc) {
                return refused(in_quotes(argv[optind]) + " is not an option");
            }
            return checked(options);
        case 'c':
            options.config = optarg;
            break;
        case 's':
            options.simulated = optarg;
            break;
        case 'n':
            options.dry_run = true;
            break;
        case 'r':
            options.for_real = true;
            break;
        case 'h':
            options.help = true;
            break;
        case 'V':
            options.version = true;
            break;
        case ':':
            return refused(safe(argv[at]) + " needs a file");
        default:
            return refused(in_quotes(argv[at]) + " is not an option");
        }
    }
}

const char* help_text() noexcept {
    return R"(nightlatchd - watches the button and asks the system to power off in order

Usage: nightlatchd [--config FILE] [--dry-run]
       nightlatchd --simulated FILE|- [--config FILE] [--ask-this-machine]

  --config FILE       the configuration (default /etc/nightlatch/nightlatch.toml)
  --dry-run           do everything but ask for power-off or reboot
  --simulated FILE    play a press script on a simulated chip, in real time; "-" takes lines
                      typed by hand ("help" lists them). Nothing is asked of this machine
  --ask-this-machine  with --simulated: requests are real, and this machine goes down
  --help, --version

Examples:
  sudo nightlatchd --dry-run                         try the button on the board, nothing goes down
  nightlatchd --simulated presses.toml --config nightlatch.toml
                                                     the same without a board

Exit status: 0 stopped in order, 1 operating failure, 2 usage or configuration error.
The service needs access to the button's GPIO chip (group gpio) and polkit's permission to ask for
power-off; its unit, nightlatch.service, brings both. A simulated run needs no privilege.
See nightlatchd(8), nightlatch.toml(5), nightlatch(1).
)";
}

}  // namespace nightlatch::service
