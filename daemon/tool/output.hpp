// SPDX-License-Identifier: MIT
#pragma once

#include "base/handle.hpp"
#include "base/result.hpp"

#include <cstdio>
#include <string>
#include <string_view>
#include <utility>

/// What the commands write. That it has not arrived is never left unsaid.
namespace nightlatch::tool {

/// To standard output. What cannot be written is told by finish_output().
void print(std::string_view text);

/// To standard output or standard error, and at once: the next thing to happen is the person's.
void say(std::FILE* to, std::string_view text);

/// True once standard output could not be written: whoever writes on and on may stop.
bool output_failed();

/// The last thing of a command: `status`, or when standard output could not be written whole (a
/// full disk, a closed pipe) the reason on standard error, and no_answer.
int finish_output(int status);

/// A file that a person asked for. It is written whole or, where it is a regular one, removed.
class OutputFile {
public:
    /// A file that is there is emptied.
    static Result<OutputFile> open(const std::string& path);

    /// Once. What fails names the file and the reason.
    Outcome write(std::string_view text);

    OutputFile(OutputFile&&) noexcept = default;
    OutputFile& operator=(OutputFile&&) noexcept = delete;
    OutputFile(const OutputFile&) = delete;
    OutputFile& operator=(const OutputFile&) = delete;
    ~OutputFile();

private:
    using File = Handle<std::FILE, std::fclose>;

    OutputFile(std::string path, File file) : path_(std::move(path)), file_(std::move(file)) {}

    std::string path_;
    File file_;  ///< until it is written
};

/// Opens and writes.
Outcome write_file(const std::string& path, std::string_view text);

}  // namespace nightlatch::tool
