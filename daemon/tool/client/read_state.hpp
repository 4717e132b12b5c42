// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/tool/client/service_state.hpp"

#include <string_view>
#include <vector>

struct sd_bus_message;

/// The service's properties off the wire.
namespace nightlatch::tool {

/// What stands next in the message, an a{sv} of the service's properties, goes into the state; the
/// rest of the state stays. A property that is unknown, or of another type than the published one,
/// is passed over. False: it is no such dictionary.
bool read_properties(sd_bus_message* message, ServiceState& into);

struct PropertyRead {
    std::string_view name;
    std::string_view signature;
};

/// Every property that is read, with its type.
std::vector<PropertyRead> properties_read();

}  // namespace nightlatch::tool
