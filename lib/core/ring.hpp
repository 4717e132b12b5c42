// SPDX-License-Identifier: MIT
#pragma once

#include <array>
#include <cstddef>
#include <optional>

namespace nightlatch::core {

/// A queue of fixed room, so that nothing is allocated on the way of a sample. When full, the
/// oldest gives way.
template <class T, std::size_t Room>
class Ring {
public:
    void push(const T& item) noexcept {
        if (size_ == Room) {
            first_ = (first_ + 1) % Room;
            --size_;
        }
        items_[(first_ + size_) % Room] = item;
        ++size_;
    }

    std::optional<T> pop() noexcept {
        if (size_ == 0) {
            return std::nullopt;
        }
        const T item = items_[first_];
        first_ = (first_ + 1) % Room;
        --size_;
        return item;
    }

    /// The oldest; null when there is none.
    [[nodiscard]] const T* first() const noexcept { return size_ == 0 ? nullptr : &items_[first_]; }

    void clear() noexcept { size_ = 0; }

    [[nodiscard]] bool full() const noexcept { return size_ == Room; }

    [[nodiscard]] std::size_t size() const noexcept { return size_; }

private:
    std::array<T, Room> items_{};
    std::size_t first_ = 0;
    std::size_t size_ = 0;
};

}  // namespace nightlatch::core
