// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/sys/fd.hpp"

#include <string>
#include <string_view>

namespace nightlatch::sys {

/// Sends words to another program's AF_UNIX datagram socket, and never waits for it: a receiver
/// that is full, stuck or not there gets nothing.
class Datagrams {
public:
    /// `address`: the socket's path, or "@name" in the abstract name space [unix(7)].
    explicit Datagrams(std::string address) : address_(std::move(address)) {}

    /// Was it taken? Whole or not at all; one larger than the socket's buffer (208 KiB by default)
    /// never is.
    [[nodiscard]] bool send(std::string_view text) noexcept;

private:
    std::string address_;
    Fd socket_;  ///< made when it is first needed
};

}  // namespace nightlatch::sys
