// SPDX-License-Identifier: MIT
// Every call of libgpiod is in this file.
#include "daemon/gpio/gpiod.hpp"

#include "daemon/gpio/naming.hpp"
#include "daemon/gpio/sentences.hpp"
#include "lines/find.hpp"

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include <fcntl.h>
#include <gpiod.h>

namespace nightlatch::gpio {

using Request = Handle<gpiod_line_request, gpiod_line_request_release>;
using EdgeBuffer = Handle<gpiod_edge_event_buffer, gpiod_edge_event_buffer_free>;

struct Held {
    LinePlace place;
    Request request;
    EdgeBuffer edges;         ///< only for an input
    std::uint64_t seqno = 0;  ///< of the last edge taken
};

void release(Held* held) noexcept {
    delete held;
}

namespace {

using Chip = Handle<gpiod_chip, gpiod_chip_close>;
using ChipInfo = Handle<gpiod_chip_info, gpiod_chip_info_free>;
using LineInfo = Handle<gpiod_line_info, gpiod_line_info_free>;
using LineSettings = Handle<gpiod_line_settings, gpiod_line_settings_free>;
using LineConfig = Handle<gpiod_line_config, gpiod_line_config_free>;
using RequestConfig = Handle<gpiod_request_config, gpiod_request_config_free>;

/// The kernel's upper limit: 16 times the 64 lines of a request
/// [linux drivers/gpio/gpiolib-cdev.c, linereq_create].
constexpr std::size_t kernel_buffer = 1024;

/// How many edges one read takes at most. libgpiod clears the whole buffer at each read, so it is
/// much smaller than the kernel's: a bouncing button fits, a storm takes a few reads more.
constexpr std::size_t read_buffer = 64;

struct OpenChip {
    Chip handle;
    lines::Chip chip;  ///< of its lines only how many there are, until they are read
};

std::string text_or_empty(const char* text) {
    return text == nullptr ? "" : text;
}

/// Gives errno on failure.
Result<OpenChip, int> open_chip(const std::string& device) {
    Chip handle(gpiod_chip_open(device.c_str()));
    if (!handle) {
        return Unexpected{int{errno}};
    }
    const ChipInfo info(gpiod_chip_get_info(handle.get()));
    if (!info) {
        return Unexpected{int{errno}};
    }
    lines::Chip chip;
    chip.name = text_or_empty(gpiod_chip_info_get_name(info.get()));
    chip.label = text_or_empty(gpiod_chip_info_get_label(info.get()));
    chip.path = device;
    chip.lines.resize(gpiod_chip_info_get_num_lines(info.get()));
    return OpenChip{std::move(handle), std::move(chip)};
}

bool is_denial(int code) {
    return code == EACCES || code == EPERM;
}

Error why_no_chip(const std::vector<lines::Chip>& present,
                  const std::string& text,
                  const lines::NotOne& not_one) {
    if (not_one.why != lines::Why::several_chips) {
        return no_such_chip(text, present);
    }
    std::vector<lines::Chip> candidates;
    for (const std::size_t candidate : not_one.candidates) {
        candidates.push_back(present[candidate]);
    }
    return several_chips(text, candidates);
}

Result<OpenChip> find_labelled(const Places& places, const std::string& text) {
    std::vector<lines::Chip> present;
    std::vector<Chip> handles;
    std::optional<Error> denied;
    for (const std::string& device : chip_devices(places.dev)) {
        Result<OpenChip, int> opened = open_chip(device);
        if (opened) {
            opened->chip.node = text.starts_with('/') ? node_of(places.sys, opened->chip.name) : "";
            present.push_back(std::move(opened->chip));
            handles.push_back(std::move(opened->handle));
        } else if (is_denial(opened.error()) && !denied) {
            denied = chip_denied(device, opened.error());
        }
    }
    const auto found = lines::find_chip(present, text);
    if (found) {
        return OpenChip{std::move(handles[*found]), std::move(present[*found])};
    }
    // A label may be that of a chip that could not be looked at.
    if (denied && found.error().why == lines::Why::no_chip &&
        !lines::device_named(places.dev, text)) {
        return Unexpected{*denied};
    }
    return Unexpected{why_no_chip(present, text, found.error())};
}

/// A device that the text names is opened as it stands: the kernel follows links.
Result<OpenChip> find_chip(const Places& places, const std::string& text) {
    const std::optional<std::string> device = lines::device_named(places.dev, text);
    if (!device) {
        return find_labelled(places, text);
    }
    Result<OpenChip, int> opened = open_chip(*device);
    if (opened) {
        return std::move(*opened);
    }
    if (is_denial(opened.error())) {
        return Unexpected{chip_denied(*device, opened.error())};
    }
    if (opened.error() == ENOENT) {
        return find_labelled(places, text);
    }
    return Unexpected{chip_unusable(*device, opened.error())};
}

/// What the kernel does not know, a line's bias before anybody asked for one, reads as "as is".
lines::Bias bias_in(gpiod_line_info* info) {
    switch (gpiod_line_info_get_bias(info)) {
    case GPIOD_LINE_BIAS_DISABLED:
        return lines::Bias::none;
    case GPIOD_LINE_BIAS_PULL_UP:
        return lines::Bias::pull_up;
    case GPIOD_LINE_BIAS_PULL_DOWN:
        return lines::Bias::pull_down;
    case GPIOD_LINE_BIAS_AS_IS:
    case GPIOD_LINE_BIAS_UNKNOWN:
        break;
    }
    return lines::Bias::as_is;
}

lines::Line line_in(gpiod_line_info* info) {
    lines::Line line;
    line.name = text_or_empty(gpiod_line_info_get_name(info));
    line.used = gpiod_line_info_is_used(info);
    line.consumer = line.used ? text_or_empty(gpiod_line_info_get_consumer(info)) : "";
    line.output = gpiod_line_info_get_direction(info) == GPIOD_LINE_DIRECTION_OUTPUT;
    line.active_low = gpiod_line_info_is_active_low(info);
    line.bias = bias_in(info);
    return line;
}

/// Gives the offset of a line that could not be read, with errno set; nothing when all were.
std::optional<unsigned> read_lines(OpenChip& chip) {
    for (unsigned offset = 0; offset < chip.chip.lines.size(); ++offset) {
        const LineInfo info(gpiod_chip_get_line_info(chip.handle.get(), offset));
        if (!info) {
            return offset;
        }
        chip.chip.lines[offset] = line_in(info.get());
    }
    return std::nullopt;
}

Result<LinePlace> find_line(OpenChip& chip, const std::string& text) {
    const std::string name = lines::text_of(chip.chip);
    if (const auto unread = read_lines(chip)) {
        return Unexpected{line_refused({name, *unread, ""}, errno)};
    }
    const auto offset = lines::find_line(chip.chip, text);
    if (!offset) {
        const bool several = offset.error().why == lines::Why::several_lines;
        return Unexpected{Error{several ? Trouble::ambiguous : Trouble::no_line,
                                lines::why_no_line(chip.chip, text, offset.error())}};
    }
    return LinePlace{name, *offset, chip.chip.lines[*offset].name};
}

gpiod_line_bias bias_of(lines::Bias bias) {
    switch (bias) {
    case lines::Bias::as_is:
        return GPIOD_LINE_BIAS_AS_IS;
    case lines::Bias::none:
        return GPIOD_LINE_BIAS_DISABLED;
    case lines::Bias::pull_up:
        return GPIOD_LINE_BIAS_PULL_UP;
    case lines::Bias::pull_down:
        return GPIOD_LINE_BIAS_PULL_DOWN;
    }
    return GPIOD_LINE_BIAS_AS_IS;
}

LineSettings settings_for(const Wanted& wanted) {
    LineSettings settings(gpiod_line_settings_new());
    if (!settings) {
        return settings;
    }
    gpiod_line_settings* const raw = settings.get();
    gpiod_line_settings_set_active_low(raw, wanted.active_low);
    int failed = gpiod_line_settings_set_bias(raw, bias_of(wanted.bias));
    if (wanted.output) {
        failed |= gpiod_line_settings_set_direction(raw, GPIOD_LINE_DIRECTION_OUTPUT);
        failed |= gpiod_line_settings_set_output_value(raw, GPIOD_LINE_VALUE_INACTIVE);
    } else {
        failed |= gpiod_line_settings_set_direction(raw, GPIOD_LINE_DIRECTION_INPUT);
        failed |= gpiod_line_settings_set_edge_detection(raw, GPIOD_LINE_EDGE_BOTH);
        failed |= gpiod_line_settings_set_event_clock(raw, GPIOD_LINE_CLOCK_MONOTONIC);
    }
    NIGHTLATCH_ENSURE(failed == 0);  // they refuse only values that do not exist
    return settings;
}

/// Gives errno on failure.
Result<Request, int> ask_kernel(const OpenChip& chip, unsigned offset, const Wanted& wanted) {
    const LineSettings settings = settings_for(wanted);
    const LineConfig lines(gpiod_line_config_new());
    const RequestConfig config(gpiod_request_config_new());
    if (!settings || !lines || !config ||
        gpiod_line_config_add_line_settings(lines.get(), &offset, 1, settings.get()) != 0) {
        return Unexpected{int{errno}};
    }
    gpiod_request_config_set_consumer(config.get(), wanted.consumer);
    if (!wanted.output) {
        gpiod_request_config_set_event_buffer_size(config.get(), kernel_buffer);
    }
    Request request(gpiod_chip_request_lines(chip.handle.get(), config.get(), lines.get()));
    if (!request) {
        return Unexpected{int{errno}};
    }
    return request;
}

Error why_refused(const OpenChip& chip, const LinePlace& place, int code) {
    if (code != EBUSY) {
        return line_refused(place, code);
    }
    const LineInfo info(gpiod_chip_get_line_info(chip.handle.get(), place.offset));
    if (!info || !gpiod_line_info_is_used(info.get())) {
        return line_busy(place, std::nullopt);
    }
    return line_busy(place, text_or_empty(gpiod_line_info_get_consumer(info.get())));
}

bool sleeps(const Places& places, const std::string& chip) {
    const std::string link = places.sys + "/bus/gpio/devices/" + chip;
    const std::unique_ptr<char, decltype(&std::free)> path(realpath(link.c_str(), nullptr),
                                                           std::free);
    return path && behind_slow_bus(path.get());
}

/// An edge read must not block the event loop: the request's descriptor comes blocking
/// [linux Documentation/userspace-api/gpio/gpio-v2-line-event-read.rst].
bool stop_blocking(int fd) {
    const int flags = fcntl(fd, F_GETFL);
    return flags >= 0 && fcntl(fd, F_SETFL, flags | O_NONBLOCK) == 0;
}

/// Since the kernel's stamps count in 32 bits, carry them on in 64.
std::uint64_t carried_on(std::uint64_t last, unsigned long seqno) {
    return last + static_cast<std::uint32_t>(static_cast<std::uint32_t>(seqno) -
                                             static_cast<std::uint32_t>(last));
}

}  // namespace

Result<lines::Chip> look_at(const Places& places, const std::string& device) {
    Result<OpenChip, int> opened = open_chip(device);
    if (!opened) {
        return Unexpected{is_denial(opened.error()) ? chip_denied(device, opened.error())
                                                    : chip_unusable(device, opened.error())};
    }
    if (read_lines(*opened)) {
        return Unexpected{chip_unusable(device, errno)};
    }
    opened->chip.sleeps = sleeps(places, opened->chip.name);
    return std::move(opened->chip);
}

Result<OpenedLine> request_line(const Places& places, const Wanted& wanted) {
    // The chip is closed on return; the request stays
    // [linux Documentation/userspace-api/gpio/gpio-v2-get-line-ioctl.rst].
    Result<OpenChip> chip = find_chip(places, wanted.where.chip);
    if (!chip) {
        return Unexpected{chip.error()};
    }
    const Result<LinePlace> place = find_line(*chip, wanted.where.line);
    if (!place) {
        return Unexpected{place.error()};
    }
    Result<Request, int> request = ask_kernel(*chip, place->offset, wanted);
    if (!request) {
        return Unexpected{why_refused(*chip, *place, request.error())};
    }
    HeldLine held(new Held{*place, std::move(*request), nullptr, 0});
    if (!wanted.output) {
        held->edges.reset(gpiod_edge_event_buffer_new(read_buffer));
        if (!held->edges || !stop_blocking(fd_of(*held))) {
            return Unexpected{line_refused(*place, errno)};
        }
    }
    ports::LineFacts facts;
    facts.chip = place->chip;
    facts.offset = place->offset;
    facts.name = place->name;
    facts.sleeps = sleeps(places, chip->chip.name);
    facts.chip_name = chip->chip.name;
    return OpenedLine{std::move(held), std::move(facts)};
}

int fd_of(const Held& held) noexcept {
    return gpiod_line_request_get_fd(held.request.get());
}

Result<std::size_t> read_edges(Held& held, std::span<ports::LineEvent> into) {
    const int got = gpiod_line_request_read_edge_events(
        held.request.get(), held.edges.get(), std::min(into.size(), read_buffer));
    if (got < 0) {
        const int code = errno;
        if (code != EAGAIN && code != EINTR) {
            return Unexpected{line_lost(held.place, code)};
        }
        return std::size_t{0};
    }
    const auto count = static_cast<std::size_t>(got);
    for (std::size_t i = 0; i < count; ++i) {
        gpiod_edge_event* const edge = gpiod_edge_event_buffer_get_event(held.edges.get(), i);
        held.seqno = carried_on(held.seqno, gpiod_edge_event_get_line_seqno(edge));
        into[i].seqno = held.seqno;
        into[i].stamp =
            Instant(Duration(static_cast<Duration::rep>(gpiod_edge_event_get_timestamp_ns(edge))));
        // Rising means from inactive to active: the kernel reads the logical level, with the
        // active-low flag applied, and names the event after it [linux drivers/gpio/gpiolib-cdev.c,
        // edge_irq_thread; Documentation/userspace-api/gpio/gpio-v2-line-event-read.rst].
        into[i].level = gpiod_edge_event_get_event_type(edge) == GPIOD_EDGE_EVENT_RISING_EDGE
                            ? Level::active
                            : Level::inactive;
    }
    return count;
}

Result<Level> read_level(Held& held) {
    switch (gpiod_line_request_get_value(held.request.get(), held.place.offset)) {
    case GPIOD_LINE_VALUE_ACTIVE:
        return Level::active;
    case GPIOD_LINE_VALUE_INACTIVE:
        return Level::inactive;
    case GPIOD_LINE_VALUE_ERROR:
        break;
    }
    return Unexpected{line_lost(held.place, errno)};
}

Outcome drive(Held& held, Level level) {
    const gpiod_line_value value =
        level == Level::active ? GPIOD_LINE_VALUE_ACTIVE : GPIOD_LINE_VALUE_INACTIVE;
    if (gpiod_line_request_set_value(held.request.get(), held.place.offset, value) != 0) {
        return Unexpected{line_lost(held.place, errno)};
    }
    return std::monostate{};
}

}  // namespace nightlatch::gpio
