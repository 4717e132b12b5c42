// SPDX-License-Identifier: MIT
#include "daemon/tool/output.hpp"

#include "base/ensure.hpp"
#include "base/text.hpp"
#include "daemon/tool/options.hpp"

#include <cerrno>
#include <cstring>
#include <filesystem>

namespace nightlatch::tool {
namespace {

/// Why standard output first failed, an errno; 0 as long as it has not.
int first_failure = 0;

void note_failure() {
    if (std::ferror(stdout) != 0 && first_failure == 0) {
        first_failure = errno;
    }
}

Error cannot_write(const std::string& path, int why) {
    return {Trouble::other, "cannot write " + safe(path) + ": " + std::strerror(why)};
}

/// A device or a pipe stays; of a link it is what it leads to.
void remove_regular(const std::string& path) noexcept {
    std::error_code ignored;
    const std::filesystem::path file = std::filesystem::canonical(path, ignored);
    if (std::filesystem::is_regular_file(file, ignored)) {
        std::filesystem::remove(file, ignored);
    }
}

}  // namespace

void print(std::string_view text) {
    std::fwrite(text.data(), 1, text.size(), stdout);
    note_failure();
}

void say(std::FILE* to, std::string_view text) {
    std::fwrite(text.data(), 1, text.size(), to);
    std::fflush(to);
    if (to == stdout) {
        note_failure();
    }
}

bool output_failed() {
    return std::ferror(stdout) != 0;
}

int finish_output(int status) {
    if (std::fflush(stdout) != 0) {
        note_failure();
    }
    if (std::ferror(stdout) == 0) {
        return status;
    }
    std::fprintf(
        stderr, "nightlatch: the answer could not be written: %s\n", std::strerror(first_failure));
    return no_answer;
}

Result<OutputFile> OutputFile::open(const std::string& path) {
    File file(std::fopen(path.c_str(), "wbe"));
    if (!file) {
        return Unexpected{cannot_write(path, errno)};
    }
    return OutputFile(path, std::move(file));
}

Outcome OutputFile::write(std::string_view text) {
    NIGHTLATCH_ENSURE(file_ != nullptr);
    const bool written = std::fwrite(text.data(), 1, text.size(), file_.get()) == text.size() &&
                         std::fflush(file_.get()) == 0;
    if (!written) {
        return Unexpected{cannot_write(path_, errno)};  // and what is there of it is removed
    }
    if (std::fclose(file_.release()) != 0) {
        const int why = errno;
        remove_regular(path_);
        return Unexpected{cannot_write(path_, why)};
    }
    return std::monostate{};
}

OutputFile::~OutputFile() {
    if (file_) {
        remove_regular(path_);
    }
}

Outcome write_file(const std::string& path, std::string_view text) {
    auto file = OutputFile::open(path);
    return file ? file->write(text) : Outcome(Unexpected{file.error()});
}

}  // namespace nightlatch::tool
