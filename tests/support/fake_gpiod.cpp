// SPDX-License-Identifier: MIT
// The libgpiod calls that daemon/gpio uses, over chips in memory. The behaviour is the kernel's:
//   [cdev]   linux 6.12 drivers/gpio/gpiolib-cdev.c
//   [get]    linux 6.12 Documentation/userspace-api/gpio/gpio-v2-get-line-ioctl.rst
//   [read]   linux 6.12 Documentation/userspace-api/gpio/gpio-v2-line-event-read.rst
//   [errors] linux 6.12 Documentation/userspace-api/gpio/error-codes.rst
#include "support/fake_gpiod.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <fstream>

#include <fcntl.h>
#include <gpiod.h>
#include <unistd.h>

using nightlatch::test::FakeChip;
using nightlatch::test::FakeEvent;
using nightlatch::test::FakeGpio;
using nightlatch::test::FakeLine;
using nightlatch::test::FakeRequest;

struct gpiod_chip {
    std::shared_ptr<FakeChip> chip;
};

struct gpiod_chip_info {
    FakeChip chip;
};

struct gpiod_line_info {
    FakeLine line;
};

struct gpiod_line_settings {
    FakeRequest request;
};

struct gpiod_line_config {
    unsigned offset = 0;
    FakeRequest request;
};

struct gpiod_request_config {
    std::string consumer;
    std::size_t buffer_size = 0;
};

struct gpiod_line_request {
    std::shared_ptr<FakeChip> chip;  // a request outlives both its chip's descriptor and the chip
    unsigned offset = 0;

    [[nodiscard]] FakeLine& line() const { return chip->lines[offset]; }
};

struct gpiod_edge_event {
    FakeEvent event;
};

struct gpiod_edge_event_buffer {
    std::vector<gpiod_edge_event> events;
    std::size_t count = 0;
};

namespace {

FakeGpio* machine = nullptr;

int fail(int code) {
    errno = code;
    return -1;
}

template <class T>
T* fail_null(int code) {
    errno = code;
    return nullptr;
}

/// [get]: 16 by default, 1,024 at most.
std::size_t buffer_of(std::size_t asked) {
    return asked == 0 ? 16 : std::min<std::size_t>(asked, 1024);
}

/// The order of the checks is that of linereq_create() in [cdev].
int refusal_of(const FakeLine& line, const FakeRequest& request) {
    const bool edges = request.edges != GPIOD_LINE_EDGE_NONE;
    if (edges && request.direction != GPIOD_LINE_DIRECTION_INPUT) {
        return EINVAL;  // [get]: edge detection needs an input
    }
    if (line.user || line.request) {
        return EBUSY;  // [get]: a line already in use
    }
    if (line.refusal != 0) {
        return line.refusal;
    }
    if (edges && !line.interrupt) {
        return ENXIO;  // [errors]
    }
    return edges && line.interrupt_shared ? EBUSY : 0;
}

void queue(FakeLine& line, bool active, std::uint64_t stamp) {
    if (!line.request || line.request->edges != GPIOD_LINE_EDGE_BOTH) {
        return;
    }
    // [read]: the oldest is discarded; a lost event has its number all the same.
    if (line.events.size() == buffer_of(line.request->buffer_size)) {
        line.events.pop_front();
    }
    if (line.events.empty()) {
        NIGHTLATCH_ENSURE(write(line.write_end, "!", 1) == 1);
    }
    // [cdev] edge_irq_thread(): numbers start from 1, the event is named after the logical level.
    line.events.push_back({stamp, active, ++line.seqno});
}

void let_go(FakeLine& line) {
    close(line.read_end);
    if (line.write_end >= 0) {
        close(line.write_end);
    }
    line.read_end = line.write_end = -1;
    line.request.reset();
    line.events.clear();
    line.seqno = 0;
}

}  // namespace

namespace nightlatch::test {

bool FakeLine::active() const {
    return high != (request && request->active_low);
}

FakeGpio::FakeGpio() {
    NIGHTLATCH_ENSURE(machine == nullptr);
    machine = this;
    std::filesystem::create_directories(places().dev);
    std::filesystem::create_directories(places().sys + "/bus/gpio/devices");
}

FakeGpio::~FakeGpio() {
    machine = nullptr;
}

gpio::Places FakeGpio::places() const {
    return {home_.path() + "/dev", home_.path() + "/sys"};
}

FakeChip& FakeGpio::add(unsigned number,
                        const std::string& label,
                        const std::vector<std::string>& lines) {
    auto chip = std::make_shared<FakeChip>();
    chip->name = "gpiochip" + std::to_string(number);
    chip->label = label;
    for (const std::string& name : lines) {
        chip->lines.emplace_back();
        chip->lines.back().name = name;
    }
    const std::ofstream node(places().dev + "/" + chip->name);
    return *(chips_[chip->name] = chip);
}

void FakeGpio::remove(unsigned number) {
    const std::string name = "gpiochip" + std::to_string(number);
    FakeChip& chip = *chips_.at(name);
    chip.gone = true;
    for (FakeLine& line : chip.lines) {
        if (line.write_end >= 0) {
            close(line.write_end);  // [cdev] linereq_poll(): a hang-up from now on
            line.write_end = -1;
        }
    }
    std::filesystem::remove(places().dev + "/" + name);
    chips_.erase(name);
}

void FakeGpio::edge(FakeLine& line, bool high, Instant stamp) {
    line.high = high;
    queue(line, line.active(), static_cast<std::uint64_t>(stamp.time_since_epoch().count()));
}

void FakeGpio::merged_edges(FakeLine& line, Instant second) {
    // [cdev] edge_irq_handler() overwrites the stamp, edge_irq_thread() reads the level later.
    edge(line, line.high, second);
}

std::shared_ptr<FakeChip> FakeGpio::chip_at(const std::string& path) const {
    std::error_code error;
    const std::filesystem::path real = std::filesystem::canonical(path, error);
    if (error) {
        return nullptr;
    }
    const auto found = chips_.find(real.filename().string());
    return found == chips_.end() ? nullptr : found->second;
}

}  // namespace nightlatch::test

// The declarations, and so the C linkage, are those of <gpiod.h>.

gpiod_chip* gpiod_chip_open(const char* path) {
    if (!std::filesystem::exists(path)) {
        return fail_null<gpiod_chip>(ENOENT);
    }
    std::shared_ptr<FakeChip> chip = machine->chip_at(path);
    if (!chip) {
        return fail_null<gpiod_chip>(ENOTTY);  // libgpiod 2.1 lib/misc.c: no character device
    }
    if (chip->open_error != 0) {
        return fail_null<gpiod_chip>(chip->open_error);
    }
    ++machine->open_chips;
    return new gpiod_chip{chip};
}

void gpiod_chip_close(gpiod_chip* chip) {
    --machine->open_chips;
    delete chip;
}

gpiod_chip_info* gpiod_chip_get_info(gpiod_chip* chip) {
    return chip->chip->gone ? fail_null<gpiod_chip_info>(ENODEV) : new gpiod_chip_info{*chip->chip};
}

void gpiod_chip_info_free(gpiod_chip_info* info) {
    delete info;
}

const char* gpiod_chip_info_get_name(gpiod_chip_info* info) {
    return info->chip.name.c_str();
}

const char* gpiod_chip_info_get_label(gpiod_chip_info* info) {
    return info->chip.label.c_str();
}

size_t gpiod_chip_info_get_num_lines(gpiod_chip_info* info) {
    return info->chip.lines.size();
}

gpiod_line_info* gpiod_chip_get_line_info(gpiod_chip* chip, unsigned offset) {
    if (chip->chip->gone) {
        return fail_null<gpiod_line_info>(ENODEV);
    }
    return offset < chip->chip->lines.size() ? new gpiod_line_info{chip->chip->lines[offset]}
                                             : fail_null<gpiod_line_info>(EINVAL);
}

void gpiod_line_info_free(gpiod_line_info* info) {
    delete info;
}

const char* gpiod_line_info_get_name(gpiod_line_info* info) {
    return info->line.name.empty() ? nullptr : info->line.name.c_str();
}

bool gpiod_line_info_is_used(gpiod_line_info* info) {
    return info->line.user || info->line.request;
}

const char* gpiod_line_info_get_consumer(gpiod_line_info* info) {
    const std::string& consumer =
        info->line.request ? info->line.request->consumer : *info->line.user;
    return consumer.empty() ? nullptr : consumer.c_str();
}

gpiod_line_direction gpiod_line_info_get_direction(gpiod_line_info* info) {
    // [get]: information names an input or an output, never "as is".
    const bool output = info->line.request
                            ? info->line.request->direction == GPIOD_LINE_DIRECTION_OUTPUT
                            : info->line.output;
    return output ? GPIOD_LINE_DIRECTION_OUTPUT : GPIOD_LINE_DIRECTION_INPUT;
}

bool gpiod_line_info_is_active_low(gpiod_line_info* info) {
    return info->line.request ? info->line.request->active_low : info->line.active_low;
}

gpiod_line_bias gpiod_line_info_get_bias(gpiod_line_info* info) {
    // [cdev] gpio_desc_to_lineinfo(): only what somebody asked for is known.
    const int bias = info->line.request ? info->line.request->bias : GPIOD_LINE_BIAS_UNKNOWN;
    return bias == GPIOD_LINE_BIAS_AS_IS ? GPIOD_LINE_BIAS_UNKNOWN
                                         : static_cast<gpiod_line_bias>(bias);
}

gpiod_line_settings* gpiod_line_settings_new() {
    FakeRequest unset;
    unset.direction = GPIOD_LINE_DIRECTION_AS_IS;
    unset.edges = GPIOD_LINE_EDGE_NONE;
    unset.bias = GPIOD_LINE_BIAS_AS_IS;
    unset.clock = GPIOD_LINE_CLOCK_MONOTONIC;
    return new gpiod_line_settings{unset};
}

void gpiod_line_settings_free(gpiod_line_settings* settings) {
    delete settings;
}

void gpiod_line_settings_set_active_low(gpiod_line_settings* settings, bool active_low) {
    settings->request.active_low = active_low;
}

int gpiod_line_settings_set_bias(gpiod_line_settings* settings, gpiod_line_bias bias) {
    settings->request.bias = bias;
    return 0;
}

int gpiod_line_settings_set_direction(gpiod_line_settings* settings,
                                      gpiod_line_direction direction) {
    settings->request.direction = direction;
    return 0;
}

int gpiod_line_settings_set_edge_detection(gpiod_line_settings* settings, gpiod_line_edge edge) {
    settings->request.edges = edge;
    return 0;
}

int gpiod_line_settings_set_event_clock(gpiod_line_settings* settings, gpiod_line_clock clock) {
    settings->request.clock = clock;
    return 0;
}

int gpiod_line_settings_set_output_value(gpiod_line_settings* settings, gpiod_line_value value) {
    settings->request.first_output_active = value == GPIOD_LINE_VALUE_ACTIVE;
    return 0;
}

gpiod_line_config* gpiod_line_config_new() {
    return new gpiod_line_config{};
}

void gpiod_line_config_free(gpiod_line_config* config) {
    delete config;
}

int gpiod_line_config_add_line_settings(gpiod_line_config* config,
                                        const unsigned* offsets,
                                        size_t num_offsets,
                                        gpiod_line_settings* settings) {
    NIGHTLATCH_ENSURE(num_offsets == 1);
    *config = {*offsets, settings->request};
    return 0;
}

gpiod_request_config* gpiod_request_config_new() {
    return new gpiod_request_config{};
}

void gpiod_request_config_free(gpiod_request_config* config) {
    delete config;
}

void gpiod_request_config_set_consumer(gpiod_request_config* config, const char* consumer) {
    config->consumer = consumer;
}

void gpiod_request_config_set_event_buffer_size(gpiod_request_config* config, size_t size) {
    config->buffer_size = size;
}

gpiod_line_request* gpiod_chip_request_lines(gpiod_chip* chip,
                                             gpiod_request_config* req_cfg,
                                             gpiod_line_config* line_cfg) {
    if (chip->chip->gone) {
        return fail_null<gpiod_line_request>(ENODEV);
    }
    FakeLine& line = chip->chip->lines.at(line_cfg->offset);
    if (const int code = refusal_of(line, line_cfg->request); code != 0) {
        return fail_null<gpiod_line_request>(code);
    }
    int ends[2] = {};
    NIGHTLATCH_ENSURE(pipe(ends) == 0);  // blocking, as the kernel's descriptor is
    line.read_end = ends[0];
    line.write_end = ends[1];
    line.request = line_cfg->request;
    line.request->consumer = req_cfg->consumer;
    line.request->buffer_size = req_cfg->buffer_size;
    if (line.request->direction == GPIOD_LINE_DIRECTION_OUTPUT) {
        line.high = line.request->first_output_active != line.request->active_low;
    }
    ++machine->open_requests;
    return new gpiod_line_request{chip->chip, line_cfg->offset};
}

void gpiod_line_request_release(gpiod_line_request* request) {
    let_go(request->line());
    --machine->open_requests;
    delete request;
}

int gpiod_line_request_get_fd(gpiod_line_request* request) {
    return request->line().read_end;
}

gpiod_line_value gpiod_line_request_get_value(gpiod_line_request* request, unsigned offset) {
    NIGHTLATCH_ENSURE(offset == request->offset);
    if (request->chip->gone) {
        errno = ENODEV;  // [errors]
        return GPIOD_LINE_VALUE_ERROR;
    }
    return request->line().active() ? GPIOD_LINE_VALUE_ACTIVE : GPIOD_LINE_VALUE_INACTIVE;
}

int gpiod_line_request_set_value(gpiod_line_request* request,
                                 unsigned offset,
                                 gpiod_line_value value) {
    NIGHTLATCH_ENSURE(offset == request->offset);
    FakeLine& line = request->line();
    if (request->chip->gone) {
        return fail(ENODEV);
    }
    if (line.request->direction != GPIOD_LINE_DIRECTION_OUTPUT) {
        return fail(EPERM);  // [cdev] linereq_set_values()
    }
    line.high = (value == GPIOD_LINE_VALUE_ACTIVE) != line.request->active_low;
    return 0;
}

int gpiod_line_request_read_edge_events(gpiod_line_request* request,
                                        gpiod_edge_event_buffer* buffer,
                                        size_t max_events) {
    FakeLine& line = request->line();
    buffer->count = 0;
    if (max_events == 0) {
        return 0;
    }
    if (request->chip->gone) {
        return fail(ENODEV);  // [cdev] linereq_read(): also with events in the buffer
    }
    if (line.events.empty()) {
        // [errors]; a blocking read would wait for ever here.
        const bool blocks = (fcntl(line.read_end, F_GETFL) & O_NONBLOCK) == 0;
        return fail(blocks ? EDEADLK : EAGAIN);
    }
    while (!line.events.empty() && buffer->count < std::min(max_events, buffer->events.size())) {
        buffer->events[buffer->count++].event = line.events.front();
        line.events.pop_front();
    }
    char byte = 0;
    if (line.events.empty()) {
        NIGHTLATCH_ENSURE(read(line.read_end, &byte, 1) == 1);
    }
    return static_cast<int>(buffer->count);
}

gpiod_edge_event_buffer* gpiod_edge_event_buffer_new(size_t capacity) {
    return new gpiod_edge_event_buffer{std::vector<gpiod_edge_event>(capacity), 0};
}

void gpiod_edge_event_buffer_free(gpiod_edge_event_buffer* buffer) {
    delete buffer;
}

gpiod_edge_event* gpiod_edge_event_buffer_get_event(gpiod_edge_event_buffer* buffer,
                                                    unsigned long index) {
    return index < buffer->count ? &buffer->events[index] : fail_null<gpiod_edge_event>(EINVAL);
}

gpiod_edge_event_type gpiod_edge_event_get_event_type(gpiod_edge_event* event) {
    return event->event.rising ? GPIOD_EDGE_EVENT_RISING_EDGE : GPIOD_EDGE_EVENT_FALLING_EDGE;
}

uint64_t gpiod_edge_event_get_timestamp_ns(gpiod_edge_event* event) {
    return event->event.stamp;
}

unsigned long gpiod_edge_event_get_line_seqno(gpiod_edge_event* event) {
    return event->event.seqno;
}
