// SPDX-License-Identifier: MIT
#include "daemon/service/config_on_disk.hpp"

#include <algorithm>
#include <filesystem>
#include <utility>

namespace nightlatch::service {

using ports::Message;
using ports::Priority;

ConfigRead read_config(const std::string& file, sys::TrustPolicy trust) {
    ConfigRead read;
    read.file = file;
    const auto text = sys::read_config_file(file, trust);
    if (!text) {
        read.unread = text.error();
        return read;
    }
    config::Loaded loaded = config::load(*text);
    read.settings = std::move(loaded.settings);
    read.diagnostics = std::move(loaded.diagnostics);
    if (!read.settings) {
        read.feedback = config::load_feedback(*text);
    }
    return read;
}

void tell(ports::Journal& journal, const ConfigRead& read) {
    if (read.unread) {
        journal.say(Priority::error, Message::plain, read.unread->text);
    }
    for (const config::Diagnostic& diagnostic : read.diagnostics) {
        const bool error = diagnostic.severity == Severity::error;
        journal.say(error ? Priority::error : Priority::warning,
                    Message::plain,
                    config::to_text(diagnostic, read.file));
    }
}

std::string trouble_of(const ConfigRead& read) {
    if (read.unread) {
        return read.unread->text;
    }
    const auto first =
        std::find_if(read.diagnostics.begin(),
                     read.diagnostics.end(),
                     [](const config::Diagnostic& one) { return one.severity == Severity::error; });
    return first == read.diagnostics.end() ? "" : config::to_text(*first, read.file);
}

ConfigOnDisk::ConfigOnDisk(sys::EventLoop& loop,
                           std::string file,
                           sys::TrustPolicy trust,
                           std::function<void()> changed)
    : file_(std::move(file)), trust_(trust), changed_(std::move(changed)),
      watch_(loop.fd_watch([this](sys::FdReady) { look(); })) {}

Outcome ConfigOnDisk::watch() {
    watch_.stop();
    folder_.reset();
    const std::filesystem::path path = std::filesystem::path(file_);
    auto folder = sys::FolderWatch::open(path.has_parent_path() ? path.parent_path().string() : ".",
                                         path.filename().string(),
                                         sys::FolderWatch::News::contents);
    if (!folder) {
        return Unexpected{folder.error()};
    }
    folder_.emplace(std::move(*folder));
    return watch_.start(folder_->fd());
}

void ConfigOnDisk::in_force(supervisor::SettingsInForce settings) {
    in_force_ = std::move(settings);
    state_ = supervisor::OnDisk::same;
    trouble_.clear();
}

void ConfigOnDisk::take(const ConfigRead& read) {
    trouble_ = trouble_of(read);
    if (!read.settings) {
        state_ = supervisor::OnDisk::bad;
    } else {
        const bool same = in_force_ == nullptr || *read.settings == *in_force_;
        state_ = same ? supervisor::OnDisk::same : supervisor::OnDisk::differs;
    }
}

void ConfigOnDisk::look() {
    if (!folder_->changed()) {
        return;
    }
    const auto before = std::pair(state_, trouble_);
    take(read_config(file_, trust_));
    if (std::pair(state_, trouble_) != before) {
        changed_();
    }
}

}  // namespace nightlatch::service
