// SPDX-License-Identifier: MIT
#pragma once

#include <memory>

namespace nightlatch {

/// The one owner of every C resource: Handle<gpiod_chip, gpiod_chip_close>.
template <auto Release>
struct Releaser {
    template <class T>
    void operator()(T* resource) const noexcept {
        Release(resource);
    }
};

template <class T, auto Release>
using Handle = std::unique_ptr<T, Releaser<Release>>;

}  // namespace nightlatch
