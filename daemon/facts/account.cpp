// SPDX-License-Identifier: MIT
#include "daemon/facts/account.hpp"

#include "base/account.hpp"
#include "base/text.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include <sys/stat.h>

namespace nightlatch::facts {
namespace {

constexpr std::string_view group_of_chips = "gpio";

std::vector<std::string_view> fields_of(std::string_view line, char divider) {
    std::vector<std::string_view> fields;
    for (;;) {
        const std::size_t end = line.find(divider);
        fields.push_back(line.substr(0, end));
        if (end == std::string_view::npos) {
            return fields;
        }
        line.remove_prefix(end + 1);
    }
}

/// name:password:NUMBER:…, of both files.
std::string name_with(std::string_view text, unsigned number) {
    for (const std::string& line : lines_of(text)) {
        const auto fields = fields_of(line, ':');
        if (fields.size() > 2 && number_in(fields[2]) == number) {
            return std::string(fields[0]);
        }
    }
    return std::to_string(number);
}

bool member(const Account& account, gid_t group) {
    return std::find(account.groups.begin(), account.groups.end(), group) != account.groups.end();
}

bool may(const Account& account, const FileStatus& file, mode_t wanted) {
    if (account.uid == 0) {
        return true;
    }
    const unsigned shift = account.uid == file.uid ? 6 : (member(account, file.gid) ? 3 : 0);
    return (file.mode >> shift & wanted) == wanted;
}

/// The first line that is of the service's user, with its own group alone.
std::optional<Account> service_user(std::string_view users) {
    for (const std::string& line : lines_of(users)) {
        const auto fields = fields_of(line, ':');
        if (fields.size() < 4 || fields[0] != service_account_name()) {
            continue;
        }
        const auto uid = number_in(fields[2]);
        const auto gid = number_in(fields[3]);
        if (uid && gid) {
            return Account{*uid, {*gid}};
        }
    }
    return std::nullopt;
}

bool is_group_of_service(std::string_view name, std::string_view members) {
    const auto names = fields_of(members, ',');
    return name == service_account_name() || name == group_of_chips ||
           std::find(names.begin(), names.end(), service_account_name()) != names.end();
}

Known<bool> exists_in(const Read<AccountFiles>& files) {
    return files ? Known<bool>(service_account(*files).has_value())
                 : Known<bool>::missing(files.error().text);
}

}  // namespace

Read<AccountFiles> read_account_files(const std::string& root) {
    Read<std::string> users = read_file(root, "/etc/passwd");
    if (!users) {
        return Unexpected{users.error()};
    }
    Read<std::string> groups = read_file(root, "/etc/group");
    if (!groups) {
        return Unexpected{groups.error()};
    }
    return AccountFiles{std::move(*users), std::move(*groups)};
}

std::optional<Account> service_account(const AccountFiles& files) {
    std::optional<Account> account = service_user(files.users);
    if (!account) {
        return std::nullopt;
    }
    for (const std::string& line : lines_of(files.groups)) {
        const auto fields = fields_of(line, ':');
        const auto gid = fields.size() > 3 ? number_in(fields[2]) : std::nullopt;
        if (gid && is_group_of_service(fields[0], fields[3])) {
            account->groups.push_back(*gid);
        }
    }
    return account;
}

Known<Account> read_service_account(const std::string& root) {
    const Read<AccountFiles> files = read_account_files(root);
    if (!files) {
        return Known<Account>::missing(files.error().text);
    }
    const auto account = service_account(*files);
    return account ? Known<Account>(*account)
                   : Known<Account>::missing("the account " + service_account_name() + " (not in " +
                                             root + "/etc/passwd: install the service)");
}

bool may_read_and_write(const Account& account, const FileStatus& file) {
    return may(account, file, S_IROTH | S_IWOTH);
}

bool may_write(const Account& account, const FileStatus& file) {
    return may(account, file, S_IWOTH);
}

std::string owner_text(const AccountFiles& files, const FileStatus& file) {
    std::string mode = "0000";
    for (std::size_t i = 0; i < 4; ++i) {
        mode[3 - i] = static_cast<char>('0' + (file.mode >> (3 * i) & 7U));
    }
    return name_with(files.users, file.uid) + ":" + name_with(files.groups, file.gid) + " " + mode;
}

namespace {

audit::ChipAccess chip_access(const std::string& root,
                              const Read<AccountFiles>& files,
                              const std::string& chip) {
    audit::ChipAccess access{chip, {}, {}};
    const auto miss = [&access](const std::string& what) {
        access.may_open = Known<bool>::missing(what);
        return access;
    };
    const Read<FileStatus> device = status_of(root, "/dev/" + chip);
    if (!device) {
        return miss(device.error().text);
    }
    if (!files) {
        return miss(files.error().text);
    }
    access.owner = owner_text(*files, *device);
    const auto account = service_account(*files);
    if (!account) {
        return miss(read_service_account(root).what_is_missing());
    }
    access.may_open = may_read_and_write(*account, *device);
    return access;
}

}  // namespace

audit::AccountFacts read_account(const std::string& root) {
    audit::AccountFacts facts;
    facts.exists = exists_in(read_account_files(root));
    facts.chips = Known<std::vector<audit::ChipAccess>>::missing("which chips the lines are on");
    return facts;
}

std::vector<audit::ChipAccess> read_chip_access(const std::string& root,
                                                const std::set<std::string>& chips) {
    const Read<AccountFiles> files = read_account_files(root);
    std::vector<audit::ChipAccess> all;
    all.reserve(chips.size());
    for (const std::string& chip : chips) {
        all.push_back(chip_access(root, files, chip));
    }
    return all;
}

audit::AccountFacts account_of_image(const std::string& root) {
    audit::AccountFacts facts;
    facts.exists = exists_in(read_account_files(root));
    const Known<bool> to_be_made = is_there(root, "/usr/lib/sysusers.d/nightlatch.conf");
    if (facts.exists && !*facts.exists && to_be_made && *to_be_made) {
        facts.exists = Known<bool>::missing("the account " + service_account_name() +
                                            " (systemd-sysusers makes it at the first boot)");
    }
    facts.chips = Known<std::vector<audit::ChipAccess>>::missing(
        std::string("the chips' owner and mode: ") + audit::only_running);
    return facts;
}

}  // namespace nightlatch::facts
