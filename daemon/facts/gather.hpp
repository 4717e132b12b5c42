// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"

namespace nightlatch::facts {

/// Where to look.
struct Where {
    audit::Source source = audit::Source::live;
    std::string root;  ///< "" for this machine; the folder of an image
};

/// All facts but those that others gather: configuration, chips, the button's level, and on a
/// running board the login and service managers' answers. What an image, or a blob, cannot tell
/// is missing and says so.
audit::Facts gather(const Where& where);

}  // namespace nightlatch::facts
