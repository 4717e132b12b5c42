// SPDX-License-Identifier: MIT
#include "support/good_unit.hpp"

#include "base/ensure.hpp"

#include <algorithm>
#include <utility>

namespace nightlatch::audit::test {
namespace {

using namespace std::chrono_literals;
using devicetree::Property;

/// A node by its path, so that a tree is a list, in depth-first order.
struct FlatNode {
    std::string path;
    std::vector<Property> properties;
};

using FlatTree = std::vector<FlatNode>;

bool is_below(std::string_view path, std::string_view above) {
    return above == "/"
               ? path != "/"
               : path.size() > above.size() && path.starts_with(above) && path[above.size()] == '/';
}

std::string parent_of(std::string_view path) {
    const std::size_t slash = path.rfind('/');
    return slash == 0 ? "/" : std::string(path.substr(0, slash));
}

devicetree::Tree build(const FlatTree& flat) {
    devicetree::Builder builder;
    std::vector<std::string> open;
    for (const FlatNode& node : flat) {
        while (!open.empty() && !is_below(node.path, open.back())) {
            NIGHTLATCH_ENSURE(builder.leave());
            open.pop_back();
        }
        NIGHTLATCH_ENSURE(open.empty() || open.back() == parent_of(node.path));
        NIGHTLATCH_ENSURE(builder.enter(node.path.substr(node.path.rfind('/') + 1)));
        open.push_back(node.path);
        for (const Property& property : node.properties) {
            NIGHTLATCH_ENSURE(builder.property(property.name, property.value));
        }
    }
    for (std::size_t i = 0; i < open.size(); ++i) {
        NIGHTLATCH_ENSURE(builder.leave());
    }
    auto tree = builder.finish();
    NIGHTLATCH_ENSURE(tree);
    return std::move(*tree);
}

FlatTree flat_tree(const Facts& facts) {
    FlatTree flat;
    const devicetree::Tree& tree = *facts.tree;
    for (devicetree::NodeId id = 0; id < tree.size(); ++id) {
        flat.push_back({tree.path_of(id), tree.node(id).properties});
    }
    return flat;
}

FlatTree::iterator node_at(FlatTree& flat, std::string_view path) {
    const auto it =
        std::find_if(flat.begin(), flat.end(), [&](const FlatNode& n) { return n.path == path; });
    NIGHTLATCH_ENSURE(it != flat.end());
    return it;
}

FlatTree good_tree() {
    FlatTree flat;
    flat.push_back({"/",
                    {{"model", strings({"Pontoon tide gauge"})},
                     {"compatible", strings({"pontoon,tide-gauge"})},
                     {"#address-cells", cells({1})},
                     {"#size-cells", cells({1})}}});
    flat.push_back({"/psci", {{"compatible", strings({"arm,psci-1.0", "arm,psci-0.2"})}}});
    flat.push_back({"/soc",
                    {{"compatible", strings({"simple-bus"})},
                     {"#address-cells", cells({1})},
                     {"#size-cells", cells({1})}}});
    flat.push_back({"/soc/gpio@9030000",
                    {{"compatible", strings({"pontoon,gpio"})},
                     {"reg", cells({0x9030000, 0x1000})},
                     {"gpio-controller", ""},
                     {"#gpio-cells", cells({2})},
                     {"phandle", cells({gpio_phandle})},
                     {"gpio-line-names",
                      strings({"",
                               "GAUGE_DATA",
                               "GAUGE_CLOCK",
                               "LID_BUTTON",
                               "LID_LAMP",
                               "BUZZER",
                               "SUPPLY_RELEASE",
                               "SPARE"})}}});
    flat.push_back({"/soc/i2c@9040000",
                    {{"compatible", strings({"pontoon,i2c"})},
                     {"#address-cells", cells({1})},
                     {"#size-cells", cells({0})}}});
    flat.push_back(
        {"/soc/i2c@9040000/expander@20",
         {{"compatible", strings({"pontoon,expander"})},
          {"reg", cells({0x20})},
          {"gpio-controller", ""},
          {"#gpio-cells", cells({2})},
          {"phandle", cells({expander_phandle})},
          {"gpio-line-names", strings({"FLOAT_HIGH", "FLOAT_LOW", "HATCH", "MAST_LAMP"})}}});
    flat.push_back({std::string(post_halt_node),
                    {{"compatible", strings({"gpio-poweroff"})},
                     {"gpios", cells({gpio_phandle, post_halt_line, 0})},
                     {"active-delay-ms", cells({200})}}});
    flat.push_back({"/leds", {{"compatible", strings({"gpio-leds"})}}});
    flat.push_back(
        {std::string(lamp_node),
         {{"gpios", cells({gpio_phandle, lamp_line, 0})}, {"retain-state-shutdown", ""}}});
    return flat;
}

std::vector<lines::Chip> good_chips() {
    lines::Chip soc{"gpiochip0", "soc-gpio", "/dev/gpiochip0", {}, std::string(gpio), false, {}};
    for (const char* name : {"",
                             "GAUGE_DATA",
                             "GAUGE_CLOCK",
                             "LID_BUTTON",
                             "LID_LAMP",
                             "BUZZER",
                             "SUPPLY_RELEASE",
                             "SPARE"}) {
        lines::Line line;
        line.name = name;
        soc.lines.push_back(line);
    }
    soc.lines[post_halt_line].used = true;
    soc.lines[post_halt_line].output = true;
    soc.lines[post_halt_line].consumer = "supply-release";
    soc.lines[post_halt_line].bias = lines::Bias::pull_down;
    soc.lines[lamp_line].used = true;
    soc.lines[lamp_line].output = true;
    soc.lines[lamp_line].consumer = "lid";
    lines::Chip expander{"gpiochip1",
                         "float-expander",
                         "/dev/gpiochip1",
                         {},
                         "/soc/i2c@9040000/expander@20",
                         true,
                         {}};
    for (const char* name : {"FLOAT_HIGH", "FLOAT_LOW", "HATCH", "MAST_LAMP"}) {
        lines::Line line;
        line.name = name;
        expander.lines.push_back(line);
    }
    return {soc, expander};
}

lines::Pins good_pins() {
    lines::Pins pins;
    for (unsigned i = 0; i < 8; ++i) {
        pins.pins.push_back({"9030000.pins", i, "pin" + std::to_string(i), "", "", ""});
    }
    pins.pins[post_halt_line].gpio_owner = "soc-gpio:518";
    pins.ranges.push_back({"9030000.pins", "soc-gpio", 0, 0, 8});
    return pins;
}

LoginFacts good_login() {
    LoginFacts login;
    login.handle_power_key = std::string("ignore");
    login.handle_power_key_long_press = std::string("ignore");
    login.block_inhibited = std::string();
    login.delay_limit = Duration{5s};
    login.inhibitors = std::vector<Inhibitor>{};
    login.may_power_off = std::string("yes");
    login.may_power_off_multiple_sessions = std::string("yes");
    return login;
}

void add_service_and_system(Facts& facts) {
    facts.account.exists = true;
    facts.account.chips = std::vector<ChipAccess>{{"gpiochip0", true, "root:gpio 0660"}};
    facts.booted.arguments = std::string("console=ttyS0 root=/dev/mmcblk0p2 rootwait");
    facts.booted.installed = std::vector<std::string>{"6.12.30-pontoon"};
    facts.manager.default_stop_timeout = Duration{10s};
    facts.manager.runtime_watchdog = std::optional<Duration>{30s};
    facts.manager.reboot_watchdog = std::optional<Duration>{600s};
    facts.mounts = std::vector<Mount>{{"/", "ext4", false}, {"/boot/firmware", "vfat", true}};
    facts.boot_mounts = std::vector<BootMount>{{1, "/", "ext4", {"noatime"}},
                                               {2, "/boot/firmware", "vfat", {"ro", "nofail"}}};
    Watchdog dog;
    dog.name = "watchdog0";
    dog.identity = "pontoon watchdog";
    dog.active = true;
    dog.timeout = Duration{60s};
    dog.nowayout = false;
    facts.watchdogs = std::vector<Watchdog>{dog};
    facts.hang.panic_seconds = 10;
    facts.hang.sysrq = 0;
    facts.hang.panic_on_oops = true;
    LedFacts lamp;
    lamp.name = "lid";
    lamp.node = lamp_node;
    lamp.writable_by_service = true;
    lamp.triggers = {"none", "timer", "pattern"};
    facts.leds = std::vector<LedFacts>{lamp};
    facts.boot = std::vector<bootfiles::Intent>{};
}

void change(std::string& text, std::string_view from, std::string_view to) {
    const std::size_t at = text.find(from);
    NIGHTLATCH_ENSURE(at != std::string::npos);
    text.replace(at, from.size(), to);
}

}  // namespace

std::string cells(std::initializer_list<std::uint32_t> values) {
    std::string bytes;
    for (const std::uint32_t value : values) {
        for (unsigned shift = 32; shift > 0; shift -= 8) {
            bytes += static_cast<char>(static_cast<unsigned char>(value >> (shift - 8)));
        }
    }
    return bytes;
}

std::string strings(std::initializer_list<std::string_view> values) {
    std::string bytes;
    for (const std::string_view value : values) {
        bytes += value;
        bytes += '\0';
    }
    return bytes;
}

std::string good_config() {
    return R"([button]
chip = "soc-gpio"
line = "LID_BUTTON"
pressed = "low"
bias = "as-is"

[[stage]]
name = "off"
hold = "3 s"
action = "power-off"

[post_halt]
chip = "soc-gpio"
line = "SUPPLY_RELEASE"
active = "high"
pulse = "100 ms"

[[feedback]]
led = "lid"
holding = "blink 4 Hz"
ready = "on"
leaving = "on"

[[feedback]]
chip = "soc-gpio"
line = "BUZZER"
refused = "pulse 50 ms 50 ms"
)";
}

void set_config(Facts& facts, std::string_view text) {
    facts.config = ConfigFacts{"nightlatch.toml", config::load(text)};
}

void edit_config(Facts& facts, std::string_view from, std::string_view to) {
    std::string text = good_config();
    change(text, from, to);
    set_config(facts, text);
}

Facts good_unit() {
    Facts facts;
    facts.where = "this machine";
    set_config(facts, good_config());
    NIGHTLATCH_ENSURE(facts.config->loaded.settings.has_value());
    facts.tree = build(good_tree());
    facts.chips = good_chips();
    facts.button_level = RestLevel{true};
    facts.alarm_levels = std::vector<Known<RestLevel>>{};
    facts.kernel = KernelVersion{6, 12, "6.12.30-pontoon"};
    facts.driver.registered = true;
    facts.driver.bound = std::vector<std::string>{std::string(post_halt_node)};
    facts.driver.configured = Built::in;
    facts.driver.deferred = std::vector<std::string>{};
    facts.driver.log = std::vector<std::string>{};
    facts.power_off.bound = std::vector<BoundDevice>{};
    facts.power_off.efi = false;
    facts.pins = good_pins();
    facts.power_keys = std::vector<PowerKeySource>{};
    facts.login_unit = LoginUnit::there;
    facts.login = good_login();
    add_service_and_system(facts);
    return facts;
}

void set_property(Facts& facts, std::string_view path, std::string_view name, std::string value) {
    FlatTree flat = flat_tree(facts);
    std::vector<Property>& properties = node_at(flat, path)->properties;
    std::erase_if(properties, [&](const Property& p) { return p.name == name; });
    properties.push_back({std::string(name), std::move(value)});
    facts.tree = build(flat);
}

void remove_property(Facts& facts, std::string_view path, std::string_view name) {
    FlatTree flat = flat_tree(facts);
    const auto gone = std::erase_if(node_at(flat, path)->properties,
                                    [&](const Property& p) { return p.name == name; });
    NIGHTLATCH_ENSURE(gone == 1);
    facts.tree = build(flat);
}

void add_node(Facts& facts, std::string_view path, std::vector<Property> properties) {
    FlatTree flat = flat_tree(facts);
    const std::string parent = parent_of(path);
    auto at = node_at(flat, parent) + 1;
    while (at != flat.end() && is_below(at->path, parent)) {
        ++at;
    }
    flat.insert(at, {std::string(path), std::move(properties)});
    facts.tree = build(flat);
}

void remove_node(Facts& facts, std::string_view path) {
    FlatTree flat = flat_tree(facts);
    const auto gone = std::erase_if(
        flat, [&](const FlatNode& n) { return n.path == path || is_below(n.path, path); });
    NIGHTLATCH_ENSURE(gone > 0);
    facts.tree = build(flat);
}

Facts as_image(Facts facts) {
    const auto none = [](const char* what) {
        return std::string(what) + " (of an image: no live facts)";
    };
    facts.source = Source::image;
    facts.where = "the image at /mnt";
    facts.chips = Known<std::vector<lines::Chip>>::missing(none("the chips"));
    facts.booted.arguments = Known<std::string>::missing(none("the kernel's command line"));
    facts.booted.installed = Known<std::vector<std::string>>::missing(none("the running kernel"));
    facts.button_level = Known<RestLevel>::missing(none("the button's level"));
    facts.alarm_levels = Known<std::vector<Known<RestLevel>>>::missing(none("the alarms' levels"));
    facts.driver.registered = Known<bool>::missing(none("the kernel's drivers"));
    facts.driver.bound = Known<std::vector<std::string>>::missing(none("the kernel's drivers"));
    facts.driver.deferred = Known<std::vector<std::string>>::missing(none("the deferred devices"));
    facts.driver.log = Known<std::vector<std::string>>::missing(none("the kernel's log"));
    facts.power_off.bound =
        Known<std::vector<BoundDevice>>::missing(none("the drivers that are bound"));
    facts.power_off.efi = Known<bool>::missing(none("EFI"));
    facts.pins = Known<lines::Pins>::missing(none("the pins"));
    facts.power_keys = Known<std::vector<PowerKeySource>>::missing(none("the input devices"));
    facts.login = Known<LoginFacts>::missing(none("the login manager"));
    facts.watchdogs = Known<std::vector<Watchdog>>::missing(none("the watchdogs"));
    facts.leds = Known<std::vector<LedFacts>>::missing(none("the LEDs"));
    facts.account.chips = Known<std::vector<ChipAccess>>::missing(none("the chips' owners"));
    facts.hang.panic_seconds = Known<int>::missing(none("kernel.panic"));
    facts.hang.sysrq = Known<int>::missing(none("kernel.sysrq"));
    facts.hang.panic_on_oops = Known<bool>::missing(none("kernel.panic_on_oops"));
    return facts;
}

lines::Chip& soc_chip(Facts& facts) {
    return known(facts.chips).front();
}

lines::Line& soc_line(Facts& facts, unsigned offset) {
    return soc_chip(facts).lines.at(offset);
}

}  // namespace nightlatch::audit::test
