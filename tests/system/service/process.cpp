// SPDX-License-Identifier: MIT
#include "system/service/process.hpp"

#include "base/ensure.hpp"

#include <csignal>
#include <fstream>
#include <sstream>
#include <utility>

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace nightlatch::test {

Process::Process(std::vector<std::string> command, std::string output_file)
    : output_file_(std::move(output_file)) {
    std::vector<char*> arguments;
    arguments.reserve(command.size() + 1);
    for (std::string& word : command) {
        arguments.push_back(word.data());
    }
    arguments.push_back(nullptr);
    const int out = open(output_file_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    NIGHTLATCH_ENSURE(out >= 0);
    child_ = fork();
    NIGHTLATCH_ENSURE(child_ >= 0);
    if (child_ == 0) {
        sigset_t none;
        sigemptyset(&none);  // the test's own loop may have blocked what the program waits for
        sigprocmask(SIG_SETMASK, &none, nullptr);
        dup2(out, STDOUT_FILENO);
        dup2(out, STDERR_FILENO);
        execv(arguments.front(), arguments.data());
        _exit(127);
    }
    close(out);
}

Process::~Process() {
    if (!ended()) {
        kill(child_, SIGKILL);
        waitpid(child_, nullptr, 0);
    }
}

void Process::signal(int number) const {
    NIGHTLATCH_ENSURE(kill(child_, number) == 0);
}

std::optional<int> Process::ended() {
    int status = 0;
    if (!status_ && waitpid(child_, &status, WNOHANG) == child_) {
        status_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    }
    return status_;
}

std::string Process::output() const {
    std::ostringstream text;
    text << std::ifstream(output_file_).rdbuf();
    return text.str();
}

bool Process::said(const std::string& text) const {
    return output().find(text) != std::string::npos;
}

}  // namespace nightlatch::test
