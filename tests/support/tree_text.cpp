// SPDX-License-Identifier: MIT
#include "support/tree_text.hpp"

#include <algorithm>
#include <sstream>

namespace nightlatch::test {

using namespace devicetree;

namespace {

class Lines {
public:
    explicit Lines(const Tree& tree) : tree_(tree) {}

    std::ostream& begin(std::string_view kind, NodeId node, bool enabled) {
        text_.str("");
        text_ << kind << ' ' << tree_.path_of(node) << (enabled ? "" : " (disabled)");
        return text_;
    }

    void end() { lines_.push_back(text_.str()); }

    void end_with(const GpioLine& line) {
        text_ << " -> " << tree_.path_of(line.controller) << ' ' << line.offset << ' '
              << line.flags;
        end();
    }

    void end_with(const std::optional<GpioLine>& line) { line ? end_with(*line) : end(); }

    std::vector<std::string> take() { return std::move(lines_); }

private:
    const Tree& tree_;
    std::ostringstream text_;
    std::vector<std::string> lines_;
};

void add_post_halt(Lines& lines, const Inventory& all) {
    for (const PostHaltNode& node : all.post_halt) {
        lines.begin("post-halt", node.node, node.enabled)
            << ' ' << node.active_ms << '/' << node.inactive_ms << '/' << node.timeout_ms
            << (node.delays_stated ? " stated" : "") << (node.input ? " input" : "")
            << (node.takes_over ? " force" : "") << " priority "
            << (node.priority ? std::to_string(*node.priority) : "-")
            << (node.line ? "" : ' ' + node.line.error());
        lines.end_with(node.line ? std::optional(*node.line) : std::nullopt);
    }
}

void add_keys_and_leds(Lines& lines, const Inventory& all) {
    for (const Key& key : all.keys) {
        lines.begin("key", key.node, key.enabled) << ' ' << key.label << ' ' << key.type << ':'
                                                  << key.code << (key.polled ? " polled" : "");
        lines.end_with(key.line);
    }
    for (const Led& led : all.leds) {
        lines.begin("led", led.node, led.enabled)
            << ' ' << led.name << (led.stays_at_shutdown ? " stays" : "");
        lines.end_with(led.line);
    }
}

}  // namespace

std::vector<std::string> lines_of(const Tree& tree, const Inventory& inventory) {
    const Inventory& all = inventory;
    Lines lines(tree);
    for (const Controller& controller : all.controllers) {
        std::ostream& text = lines.begin("controller", controller.node, controller.enabled);
        text << ' ' << controller.cells << " cells" << (controller.sleeps ? " sleeps" : "")
             << (controller.ngpios ? ' ' + std::to_string(*controller.ngpios) + " lines" : "");
        for (const std::string& name : controller.line_names) {
            text << " \"" << name << '"';
        }
        lines.end();
    }
    add_post_halt(lines, all);
    add_keys_and_leds(lines, all);
    for (const Hog& hog : all.hogs) {
        for (const GpioLine& line : hog.lines) {
            lines.begin("hog", hog.node, hog.enabled) << ' ' << hog.level;
            lines.end_with(line);
        }
    }
    for (const PowerController& chip : all.power_controllers) {
        lines.begin("power controller", chip.node, chip.enabled) << ' ' << chip.compatible;
        lines.end();
    }
    for (const OtherUse& use : all.others) {
        lines.begin("use", use.node, use.enabled) << ' ' << use.property;
        lines.end_with(use.line);
    }
    std::vector<std::string> text = lines.take();
    text.push_back("psci " + all.psci);
    return text;
}

std::vector<std::string> lines_of(const Tree& tree) {
    std::vector<std::string> lines;
    for (NodeId id = root; id < tree.size(); ++id) {
        const std::string path = tree.path_of(id);
        lines.push_back(path);
        for (const Property& property : tree.node(id).properties) {
            lines.push_back(path + ':' + property.name + '=' + property.value);
        }
    }
    std::sort(lines.begin(), lines.end());
    return lines;
}

}  // namespace nightlatch::test
