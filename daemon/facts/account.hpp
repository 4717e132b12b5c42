// SPDX-License-Identifier: MIT
#pragma once

#include "audit/facts.hpp"
#include "daemon/facts/files.hpp"

#include <optional>
#include <set>
#include <string_view>

namespace nightlatch::facts {

/// The account that the service's unit names, with every group that the unit gives it: its own,
/// those that list it [systemd.exec(5), User=], and gpio (SupplementaryGroups=).
struct Account {
    uid_t uid = 0;
    std::vector<gid_t> groups;
};

/// The users' and groups' files as text [passwd(5), group(5)]; a name that another source of names
/// gives is not seen.
struct AccountFiles {
    std::string users;
    std::string groups;
};

Read<AccountFiles> read_account_files(const std::string& root);

/// Nothing when there is no such user.
std::optional<Account> service_account(const AccountFiles& files);

/// The account of <root>, for those who judge what it may do.
Known<Account> read_service_account(const std::string& root);

/// May it read and write a file by the file's mode bits? Its owner goes by the owner's bits
/// alone, a member of its group by the group's [path_resolution(7)].
bool may_read_and_write(const Account& account, const FileStatus& file);

/// As above, of writing alone.
bool may_write(const Account& account, const FileStatus& file);

/// "root:gpio 0660"; numbers where there is no name.
std::string owner_text(const AccountFiles& files, const FileStatus& file);

/// Of a running board: the account alone, until somebody knows which chips it opens.
audit::AccountFacts read_account(const std::string& root);

/// What it may open of these chips, by their names ("gpiochip0").
std::vector<audit::ChipAccess> read_chip_access(const std::string& root,
                                                const std::set<std::string>& chips);

/// Of an image: the account alone; one that systemd-sysusers makes at the first boot is missing.
audit::AccountFacts account_of_image(const std::string& root);

}  // namespace nightlatch::facts
