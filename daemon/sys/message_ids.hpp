// SPDX-License-Identifier: MIT
#pragma once

#include "supervisor/ports/journal.hpp"

#include <array>
#include <string_view>

namespace nightlatch::sys {

/// A random number of our own for one kind of message; systemd/nightlatch.catalog explains each
/// under the same number [systemd.journal-fields(7), MESSAGE_ID=]. Once published it never changes.
struct MessageId {
    ports::Message message;
    std::string_view id;
};

constexpr std::array<MessageId, 18> message_ids{{
    {ports::Message::started, "40599b03be3a42e9bd7f8c5e51ad049b"},
    {ports::Message::decided, "821da91e1e18483eb6f7624e0f374e22"},
    {ports::Message::near_miss, "316d5e626b404b358d56d317a92a5be8"},
    {ports::Message::asked, "b458e88fd5754bedaba556ec757978b5"},
    {ports::Message::refused, "efa38d5ac81a4404bf8011650ae57d55"},
    {ports::Message::going_down, "43d3b6c9f9b940898243b3b608b8b645"},
    {ports::Message::line_fault, "54fc6cc930124b2895a90f6e3c1bcc5d"},
    {ports::Message::line_back, "b8ce55eb0c5d4e6295c38ce6e9d35d12"},
    {ports::Message::line_readable, "178cf65cdeac44f1bb1e5203da6366b4"},
    {ports::Message::stuck, "b9dd35d7777f4d2d8c896f9ea0cfe5b1"},
    {ports::Message::reloaded, "3180f9308054471e99d5eb895b534251"},
    {ports::Message::reload_failed, "5627e47e35ef492b8d47b209aae86bb3"},
    {ports::Message::bus_trouble, "8a675ee6471442329953675682600bc8"},
    {ports::Message::cue_trouble, "8ca4f4d55ea2432aa7e6836a74426444"},
    {ports::Message::post_halt, "55230eeeaa264f048730b16d69096db4"},
    {ports::Message::run_started, "8c7de99d269d4271ac9c40f42b15f38e"},
    {ports::Message::run_ended, "cbc65386c552490db4d74d79f52f7f8a"},
    {ports::Message::logbook_failed, "aef698517a91472d9ec45b7d3f6bb4cf"},
}};

/// Empty for `plain`, the only kind without one.
constexpr std::string_view id_of(ports::Message message) noexcept {
    for (const MessageId& entry : message_ids) {
        if (entry.message == message) {
            return entry.id;
        }
    }
    return {};
}

}  // namespace nightlatch::sys
