// SPDX-License-Identifier: MIT
#include "daemon/gpio/output_line.hpp"

#include <utility>

namespace nightlatch::gpio {

OutputLine::OutputLine(Places places) : places_(std::move(places)) {}

Result<ports::LineFacts> OutputLine::open(const lines::LineName& where, bool active_low) {
    close();
    Result<OpenedLine> opened =
        request_line(places_, {where, lines::Bias::as_is, active_low, true});
    if (!opened) {
        return Unexpected{opened.error()};
    }
    line_ = std::move(opened->line);
    return std::move(opened->facts);
}

Outcome OutputLine::set(Level level) {
    if (!line_) {
        return Unexpected{Error{Trouble::gone, "the cue's line is not open: open it first"}};
    }
    return drive(*line_, level);
}

void OutputLine::close() noexcept {
    line_.reset();
}

}  // namespace nightlatch::gpio
