// SPDX-License-Identifier: MIT
#pragma once

#include "base/time.hpp"
#include "daemon/sys/fd.hpp"
#include "logbook/ports/disk.hpp"

#include <memory>
#include <string>

namespace nightlatch::tool {

/// The folder of a logbook, to write to: locked as long as it is held, so that there is one writer
/// at a time [flock(2)]. Files are regular ones of that folder,
/// 0644, and its owner's; a link, a device or a pipe in
/// their place is an error and never opened through or waited for.
class Folder : public ports::Disk {
public:
    /// Waits so long at most for another writer.
    static Result<std::unique_ptr<Folder>> open(const std::string& path,
                                                Duration patience = std::chrono::seconds(3));

    Result<std::optional<std::string>> read(const std::string& name) override;
    Outcome put(const std::string& name, std::string_view bytes) override;
    Outcome append(const std::string& name, std::string_view bytes) override;
    Outcome sync_data(const std::string& name) override;
    Outcome sync(const std::string& name) override;
    Outcome rename(const std::string& from, const std::string& to) override;
    Outcome sync_folder() override;

private:
    Folder(std::string path, sys::Fd fd) : path_(std::move(path)), folder_(std::move(fd)) {}

    /// Of a regular file; nothing when it is not there.
    Result<std::optional<sys::Fd>> open_file(const std::string& name, int flags);
    /// Of one that has to be there.
    Result<sys::Fd> open_there(const std::string& name, int flags);
    [[nodiscard]] bool is_given_to_all(int file) const;
    Outcome write_to(const std::string& name, int flags, std::string_view bytes);
    [[nodiscard]] Unexpected<Error> trouble(const std::string& name, int number) const;

    std::string path_;
    sys::Fd folder_;
};

}  // namespace nightlatch::tool
