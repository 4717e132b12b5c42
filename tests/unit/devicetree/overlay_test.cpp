// SPDX-License-Identifier: MIT
// Overlays beside the program fdtoverlay of the device-tree compiler, whose blobs are used too.
#include "devicetree/blob.hpp"
#include "support/temporary_directory.hpp"
#include "support/tree_text.hpp"

#include <cstdlib>
#include <fstream>
#include <sstream>

#include <catch2/catch_test_macros.hpp>
#include <catch2/matchers/catch_matchers_string.hpp>

using namespace nightlatch::devicetree;
using Catch::Matchers::Equals;
using nightlatch::test::lines_of;

namespace {

constexpr const char* base_source = R"(/dts-v1/;
/ {
    compatible = "v,gauge";
    soc {
        gpio: gpio@0 { gpio-controller; #gpio-cells = <2>; phandle = <7>; };
        uart: serial@1 { status = "disabled"; };
    };
    lamps: leds { compatible = "gpio-leds"; };
};
)";

constexpr const char* post_halt_source = R"(/dts-v1/;
/plugin/;
&{/} {
    off: gpio-poweroff { compatible = "gpio-poweroff"; gpios = <&gpio 6 1>; timeout-ms = <2000>; };
};
&uart { status = "okay"; };
)";

/// Changes what the one before made, so that only one order can be applied.
constexpr const char* longer_source = R"(/dts-v1/;
/plugin/;
&off { timeout-ms = <5000>; beside = <&here>; };
&lamps { here: front { gpios = <&gpio 9 0>; }; };
)";

constexpr const char* other_board_source = R"(/dts-v1/;
/plugin/;
&header { status = "okay"; };
)";

constexpr const char* other_path_source = R"(/dts-v1/;
/ { fragment@0 { target-path = "/soc/header"; __overlay__ { status = "okay"; }; }; };
)";

class Bench {
public:
    std::string compiled(const std::string& name, const std::string& source, const char* options) {
        std::ofstream(path(name + ".dts")) << source;
        REQUIRE(run("dtc -q -I dts -O dtb " + std::string(options) + " -o " + path(name) + " " +
                    path(name + ".dts")) == 0);
        return bytes_of(name);
    }

    /// What fdtoverlay makes of blobs compiled before; empty when it fails.
    std::string fdtoverlay(const std::string& base, const std::string& overlays) {
        std::string files;
        std::istringstream names(overlays);
        for (std::string name; names >> name;) {
            files += " " + path(name);
        }
        return run("fdtoverlay -i " + path(base) + " -o " + path("merged") + files +
                   " 2>/dev/null") == 0
                   ? bytes_of("merged")
                   : "";
    }

private:
    [[nodiscard]] std::string path(const std::string& name) const {
        return directory_.path() + "/" + name;
    }

    static int run(const std::string& command) {
        return std::system(command.c_str());  // NOLINT: a test's own fixed words
    }

    [[nodiscard]] std::string bytes_of(const std::string& name) const {
        std::ostringstream bytes;
        bytes << std::ifstream(path(name), std::ios::binary).rdbuf();
        return bytes.str();
    }

    nightlatch::test::TemporaryDirectory directory_;
};

std::vector<std::string> lines_of_blob(const std::string& blob) {
    const auto tree = read_blob(blob);
    REQUIRE(tree);
    return lines_of(*tree);
}

}  // namespace

TEST_CASE("overlays are applied as fdtoverlay applies them, in their order", "[devicetree]") {
    Bench bench;
    const std::string base = bench.compiled("base", base_source, "-@");
    const std::vector<Overlay> overlays{
        {"post-halt", bench.compiled("post-halt", post_halt_source, "-@")},
        {"longer", bench.compiled("longer", longer_source, "-@")}};

    const auto one = apply_overlays(base, std::span(overlays).first(1));
    REQUIRE(one);
    CHECK(lines_of_blob(*one) == lines_of_blob(bench.fdtoverlay("base", "post-halt")));
    CHECK(lines_of_blob(*one) != lines_of_blob(base));

    const auto both = apply_overlays(base, overlays);
    REQUIRE(both);
    CHECK(lines_of_blob(*both) == lines_of_blob(bench.fdtoverlay("base", "post-halt longer")));
    CHECK(lines_of_blob(*both) != lines_of_blob(*one));

    // The other way round the second one's label is not there yet.
    const std::vector<Overlay> swapped{overlays[1], overlays[0]};
    const auto failed = apply_overlays(base, swapped);
    REQUIRE_FALSE(failed);
    CHECK(bench.fdtoverlay("base", "longer post-halt").empty());
    CHECK_THAT(failed.error().text,
               Equals("overlay longer cannot be applied: it refers to the label "
                      "off, which the base does not have: is it made for this board?"));
}

TEST_CASE("a base without labels, and a label or path that it has not, are told apart",
          "[devicetree]") {
    Bench bench;
    const std::string base = bench.compiled("base", base_source, "-@");
    const std::string bare = bench.compiled("bare", base_source, "");
    const std::vector<Overlay> post_halt{
        {"post-halt", bench.compiled("post-halt", post_halt_source, "-@")}};
    const std::vector<Overlay> label{
        {"header", bench.compiled("header", other_board_source, "-@")}};
    const std::vector<Overlay> way{{"header", bench.compiled("way", other_path_source, "")}};

    const auto without = apply_overlays(bare, post_halt);
    REQUIRE_FALSE(without);
    CHECK(bench.fdtoverlay("bare", "post-halt").empty());
    CHECK_THAT(without.error().text,
               Equals("overlay post-halt cannot be applied: it refers to the "
                      "label gpio, and the base has no labels: compile the base with them (dtc "
                      "-@)"));

    const auto missing = apply_overlays(base, label);
    REQUIRE_FALSE(missing);
    CHECK(bench.fdtoverlay("base", "header").empty());
    CHECK_THAT(missing.error().text,
               Equals("overlay header cannot be applied: it refers to the label "
                      "header, which the base does not have: is it made for this board?"));

    const auto no_path = apply_overlays(base, way);
    REQUIRE_FALSE(no_path);
    CHECK(bench.fdtoverlay("base", "way").empty());
    CHECK_THAT(no_path.error().text,
               Equals("overlay header cannot be applied: it goes to "
                      "/soc/header, which the base does not have: is it made for this board?"));
}

TEST_CASE("an overlay much larger than its base finds room", "[devicetree]") {
    Bench bench;
    const std::string base = bench.compiled("base", base_source, "-@");
    std::string source = "/dts-v1/;\n/plugin/;\n&lamps {\n";
    for (int i = 0; i < 2000; ++i) {
        source += "lamp_with_a_long_label_" + std::to_string(i) + ": lamp" + std::to_string(i) +
                  " { gpios = <&gpio " + std::to_string(i) + " 0>; };\n";
    }
    const std::vector<Overlay> lamps{{"lamps", bench.compiled("lamps", source + "};\n", "-@")}};
    const auto merged = apply_overlays(base, lamps);
    REQUIRE(merged);
    CHECK(lines_of_blob(*merged) == lines_of_blob(bench.fdtoverlay("base", "lamps")));
    CHECK(merged->size() < 2 * lamps.front().blob.size() + base.size());
}
