// SPDX-License-Identifier: MIT
#include "daemon/gpio/button_line.hpp"

#include <utility>

namespace nightlatch::gpio {
namespace {

Error not_open() {
    return {Trouble::gone, "the button line is not open: open it first"};
}

}  // namespace

GpioButtonLine::GpioButtonLine(Places places) : places_(std::move(places)) {}

GpioButtonLine::~GpioButtonLine() = default;

Result<ports::LineFacts> GpioButtonLine::open(const ports::LineRequest& request) {
    close();  // our own request would make the line busy for us
    Result<OpenedLine> opened =
        request_line(places_, {request.where, request.bias, request.active_low, false});
    if (!opened) {
        return Unexpected{opened.error()};
    }
    line_ = std::move(opened->line);
    return std::move(opened->facts);
}

void GpioButtonLine::close() noexcept {
    line_.reset();
}

Result<std::size_t> GpioButtonLine::drain(std::span<ports::LineEvent> into) {
    if (!line_) {
        return Unexpected{not_open()};
    }
    return read_edges(*line_, into);
}

Result<Level> GpioButtonLine::level() {
    if (!line_) {
        return Unexpected{not_open()};
    }
    return read_level(*line_);
}

int GpioButtonLine::fd() const noexcept {
    return line_ ? fd_of(*line_) : -1;
}

}  // namespace nightlatch::gpio
