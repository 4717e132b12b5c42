// SPDX-License-Identifier: MIT
#include "daemon/tool/check/logbook_units.hpp"

#include "base/account.hpp"
#include "base/text.hpp"
#include "daemon/facts/account.hpp"
#include "daemon/facts/drop_ins.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <string_view>

namespace nightlatch::tool {
namespace {

/// The units' ReadWritePaths=, in systemd/nightlatch-*.service.in.
constexpr std::string_view own_folder = "/var/lib/nightlatch";
constexpr std::array<std::string_view, 2> units{"nightlatch-started.service",
                                                "nightlatch-ended.service"};
/// The first has the last word [systemd.unit(5)].
constexpr std::array<std::string_view, 4> unit_folders{"/etc/systemd/system/",
                                                       "/run/systemd/system/",
                                                       "/usr/local/lib/systemd/system/",
                                                       "/usr/lib/systemd/system/"};

bool is_at_or_in(std::string_view path, std::string_view folder) {
    return path == folder || (path.starts_with(folder) && path[folder.size()] == '/');
}

/// "data-tide.mount" of a path without doubled slashes [systemd.unit(5), STRING ESCAPING FOR
/// INCLUSION IN UNIT NAMES].
std::string mount_unit(std::string_view path) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string name;
    for (const char c : path.substr(1)) {
        const auto byte = static_cast<unsigned char>(c);
        const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || is_digit(c) ||
                           c == ':' || c == '_' || (c == '.' && !name.empty());
        if (c == '/') {
            name += '-';
        } else if (plain) {
            name += c;
        } else {
            name += {'\\', 'x', digits[byte >> 4U], digits[byte & 15U]};
        }
    }
    return name + ".mount";
}

/// Of each folder on the way, any of which may be a disk of its own.
std::string mount_units(const std::string& folder) {
    std::string names;
    for (std::size_t end = folder.find('/', 1); end != std::string::npos;
         end = folder.find('/', end + 1)) {
        names += mount_unit(folder.substr(0, end)) + " ";
    }
    return names + mount_unit(folder);
}

bool names_folder(std::string_view line, std::string_view folder) {
    constexpr std::string_view key = "ReadWritePaths=";
    if (!line.starts_with(key)) {
        return false;
    }
    const auto words = facts::words_of(line.substr(key.size()));
    return std::any_of(words.begin(), words.end(), [folder](const std::string& word) {
        return is_at_or_in(folder, word.substr(word.find_first_not_of("-+")));
    });
}

/// By any of the unit's drop-ins, whatever its name.
bool reaches(std::string_view unit, std::string_view folder, const std::string& root) {
    std::vector<std::string> folders;
    folders.reserve(unit_folders.size());
    for (const std::string_view one : unit_folders) {
        folders.push_back(std::string(one).append(unit).append(".d"));
    }
    facts::Budget budget = facts::usual_budget();
    const auto files = facts::drop_ins(root, folders);
    return files && std::any_of(files->begin(), files->end(), [&](const std::string& file) {
               const auto text = budget.read(root, file);
               const auto lines = facts::lines_of(text ? std::string_view(*text) : "");
               return std::any_of(lines.begin(), lines.end(), [folder](const auto& line) {
                   return names_folder(line, folder);
               });
           });
}

std::string drop_ins_text(const std::string& folder) {
    std::string folders;
    std::string files;
    for (const std::string_view unit : units) {
        const std::string of_unit = std::string(unit_folders.front()).append(unit).append(".d");
        folders += " " + of_unit;
        files += " " + of_unit + "/logbook.conf";
    }
    return "sudo mkdir -p" + folders + "\nsudo tee" + files +
           " >/dev/null <<'END'\n[Unit]\nAfter=" + mount_units(folder) +
           "\n\n[Service]\nReadWritePaths=-" + folder + "\nNoExecPaths=-" + folder +
           "\nEND\nsudo systemctl daemon-reload\n";
}

std::string folder_text(const std::string& folder) {
    const std::string file = "nightlatch-logbook-elsewhere.conf";
    const std::string& account = service_account_name();
    return "echo 'd " + folder + " 0755 " + account + " " + account +
           " -' | sudo tee /etc/tmpfiles.d/" + file + "\nsudo systemd-tmpfiles --create " + file +
           "\n";
}

/// Why the account cannot write to a folder that is there; where there is no account yet, nobody
/// can tell.
std::optional<std::string> why_not_ours(const std::string& folder,
                                        const facts::FileStatus& status,
                                        const std::string& root) {
    const auto files = facts::read_account_files(root);
    const auto account = files ? facts::service_account(*files) : std::nullopt;
    if (!account || facts::may_write(*account, status)) {
        return std::nullopt;
    }
    const std::string& name = service_account_name();
    return folder + " is " + facts::owner_text(*files, status) +
           ", and the units that write the logbook run as " + name +
           ": name a folder that is the logbook's alone, " + folder + "/nightlatch say";
}

}  // namespace

LogbookReach find_logbook_reach(const config::LogbookSettings& logbook, const std::string& root) {
    const std::string folder = logbook.path.substr(0, logbook.path.rfind('/'));
    LogbookReach reach;
    if (folder == own_folder) {
        return reach;
    }
    const auto say = [&reach](std::string text) {
        reach.found.push_back({Severity::warning, {0, 0}, "logbook.path", std::move(text)});
    };
    const auto status = facts::status_of(root, folder);
    if (const auto why = status ? why_not_ours(folder, *status, root) : std::nullopt) {
        say(*why);
        return reach;
    }
    if (!std::all_of(units.begin(), units.end(), [&](std::string_view unit) {
            return is_at_or_in(folder, own_folder) || reaches(unit, folder, root);
        })) {
        reach.install = drop_ins_text(folder);
    }
    if (!status && status.error().absent()) {
        reach.install += folder_text(folder);
    }
    if (!reach.install.empty()) {
        say("the units that write the logbook do not reach " + folder +
            "; what they lack is below, for a shell");
    }
    return reach;
}

}  // namespace nightlatch::tool
