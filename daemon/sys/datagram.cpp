// SPDX-License-Identifier: MIT
#include "daemon/sys/datagram.hpp"

#include <cstddef>
#include <cstring>

#include <sys/socket.h>
#include <sys/un.h>

namespace nightlatch::sys {

bool Datagrams::send(std::string_view text) noexcept {
    sockaddr_un to{};
    to.sun_family = AF_UNIX;
    if (address_.empty() || address_.size() >= sizeof to.sun_path) {
        return false;
    }
    std::memcpy(to.sun_path, address_.data(), address_.size());
    if (to.sun_path[0] == '@') {
        to.sun_path[0] = '\0';
    }
    if (!socket_) {
        socket_ = Fd{socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0)};
    }
    // An abstract name has no end but this: a zero after it would be part of it.
    const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + address_.size());
    return sendto(socket_.get(),
                  text.data(),
                  text.size(),
                  MSG_DONTWAIT | MSG_NOSIGNAL,
                  reinterpret_cast<const sockaddr*>(&to),
                  size) >= 0;
}

}  // namespace nightlatch::sys
