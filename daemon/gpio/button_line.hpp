// SPDX-License-Identifier: MIT
#pragma once

#include "daemon/gpio/gpiod.hpp"

namespace nightlatch::gpio {

/// The button on a real GPIO line, through the kernel's character device (uAPI v2).
///
/// Linux 6.1 does not wake whoever waits for a line when its chip vanishes, 6.12 does
/// [drivers/gpio/gpiolib-cdev.c, linereq_unregistered_notify]; so whenever chips come or go
/// (sys::FolderWatch), read the level of an open line: it then says Trouble::gone.
class GpioButtonLine final : public ports::ButtonLine {
public:
    explicit GpioButtonLine(Places places = {});
    ~GpioButtonLine() override;
    GpioButtonLine(const GpioButtonLine&) = delete;
    GpioButtonLine& operator=(const GpioButtonLine&) = delete;

    Result<ports::LineFacts> open(const ports::LineRequest& request) override;
    void close() noexcept override;
    Result<std::size_t> drain(std::span<ports::LineEvent> into) override;
    Result<Level> level() override;

    /// For the event loop: readable when edges wait, hang-up when the chip is gone. Another one
    /// after each open(); -1 while closed.
    [[nodiscard]] int fd() const noexcept;

private:
    Places places_;
    HeldLine line_;
};

}  // namespace nightlatch::gpio
