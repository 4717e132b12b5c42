// SPDX-License-Identifier: MIT
// Sources: [u-boot doc/README.pxe] and, for what it leaves open,
// [u-boot boot/pxe_utils.c] by function.
#include "bootfiles/extlinux.hpp"
#include "intents.hpp"

#include <catch2/catch_test_macros.hpp>

using namespace nightlatch;
using namespace nightlatch::bootfiles;
using test::overlays_of;
using test::remarks_of;

namespace {

Intent extlinux(std::string_view text) {
    return read_extlinux("extlinux.conf", text);
}

/// A label that boots, and loads its tree.
std::string label(const std::string& name, const std::string& lines) {
    return "label " + name + "\n\tkernel /vmlinuz\n\tfdtdir /dtbs\n" + lines;
}

}  // namespace

TEST_CASE("overlays of the default label apply, those of others depend on the menu",
          "[bootfiles]") {
    const Intent intent = extlinux("# menu\nmenu title Tide gauge\ntimeout 30\ndefault second\n" +
                                   label("first", "\tfdtoverlays /a.dtbo\n") +
                                   label("second", "\tfdtoverlays /b.dtbo /dtbo/c.dtbo\n"));
    CHECK(overlays_of(intent) == "8 depends a label \"first\" being chosen in the menu\n"
                                 "12 yes b\n"
                                 "12 yes c\n");
    CHECK(intent.overlays[2].file == "/dtbo/c.dtbo");
    CHECK(remarks_of(intent).empty());
    CHECK(intent.loader == Loader::extlinux);
}

TEST_CASE("without a default the first label that can be booted is", "[bootfiles]") {
    // handle_pxe_menu: with no default "we should continue trying to boot labels", in their order.
    CHECK(overlays_of(extlinux(label("a", "fdtoverlays /a\n") + label("b", "fdtoverlays /b\n"))) ==
          "4 yes a\n8 depends b label \"b\" being chosen in the menu\n");
    // label_boot: "No kernel given, skipping".
    CHECK(overlays_of(
              extlinux("label a\nfdt /x\nfdtoverlays /a\n" + label("b", "fdtoverlays /b\n"))) ==
          "3 no a the label has no kernel, and U-Boot passes it over\n7 yes b\n");
}

TEST_CASE("a default that names no label is as none", "[bootfiles]") {
    // pxe_menu_to_menu sets a default only when a label has its name.
    const Intent intent = extlinux("default nobody\n" + label("a", "fdtoverlays /a\n"));
    CHECK(overlays_of(intent) == "5 yes a\n");
    CHECK(remarks_of(intent) ==
          "1 not_found: there is no label \"nobody\": the first one is taken\n");
}

TEST_CASE("the default may be set in several ways", "[bootfiles]") {
    const std::string two = label("a", "fdtoverlays /a\n") + label("b", "fdtoverlays /b\n");
    // parse_pxefile_top: the last `default` or `ontimeout` holds.
    CHECK(overlays_of(extlinux("default a\nontimeout b\n" + two)).find("yes b") !=
          std::string::npos);
    // parse_label_menu: `menu default` holds when nothing is set yet.
    CHECK(overlays_of(extlinux(two + "menu default\n")).find("yes b") != std::string::npos);
    CHECK(overlays_of(extlinux("default a\n" + two + "menu default\n")).find("yes a") !=
          std::string::npos);
    // A label's name is compared as it stands; the later of two equal ones is taken.
    CHECK(overlays_of(extlinux("default a\n" + label("a", "fdtoverlays /1\n") +
                               label("a", "fdtoverlays /2\n"))) ==
          "5 depends 1 label \"a\" being chosen in the menu\n9 yes 2\n");
    CHECK(overlays_of(extlinux("default B\n" + two)).find("yes a") != std::string::npos);
}

TEST_CASE("keywords are known in either case and by their other names", "[bootfiles]") {
    // The keyword table; get_string lowers keywords.
    for (const char* const text : {"LABEL a\nKernel /k\nFDT /t\nFdtOverlays /a.dtbo\n",
                                   "label a\nlinux /k\ndevicetree /t\ndevicetree-overlay /a.dtbo\n",
                                   "label a\nlinux /k\ndevicetreedir /t\nfdtoverlays /a.dtbo\n"}) {
        INFO(text);
        CHECK(overlays_of(extlinux(text)) == "4 yes a\n");
    }
}

TEST_CASE("a label without fdt or fdtdir loads no overlays", "[bootfiles]") {
    // label_boot: overlays are applied to the tree that the label has loaded.
    CHECK(
        overlays_of(extlinux("label a\nkernel /k\nfdtoverlays /a\n")) ==
        "3 no a the label has neither fdt nor fdtdir, and without one U-Boot loads no overlays\n");
}

TEST_CASE("lines that mean nothing here change nothing", "[bootfiles]") {
    CHECK(overlays_of(extlinux("prompt 1\n\n  # note\n" +
                               label("a",
                                     "menu label Tide gauge\nappend root=/dev/mmcblk0p2 # not a "
                                     "comment\ninitrd /i\nkaslrseed\n\n# x\nfdtoverlays /a\n"))) ==
          "13 yes a\n");
}

TEST_CASE("a label ends at a keyword that is none of a label's", "[bootfiles]") {
    // README.pxe: "labels end when a command not recognized as a label command is reached".
    const Intent intent = extlinux(label("a", "watchdog on\nfdtoverlays /a\n"));
    CHECK(overlays_of(intent) == "5 no a it stands in no label: watchdog ended it\n");
    CHECK(overlays_of(extlinux("fdtoverlays /a\n")) == "1 no a it stands before every label\n");
}

TEST_CASE("of two overlay lines in a label the first holds", "[bootfiles]") {
    // parse_label: `if (!label->fdtoverlays)`, and the value left over ends the label.
    const Intent intent =
        extlinux(label("a", "fdtoverlays /a\ndevicetree-overlay /b\nfdtoverlays /c\n"));
    CHECK(overlays_of(intent) ==
          "4 yes a\n"
          "5 no b it stands in no label: a second devicetree-overlay ended it\n"
          "6 no c it stands in no label: a second devicetree-overlay ended it\n");
    CHECK(remarks_of(intent) == "5 repeated: \"devicetree-overlay\" stands in this label already: "
                                "the first one holds, and U-Boot takes the label to end here\n");
}

TEST_CASE("a keyword without its value spoils the whole file", "[bootfiles]") {
    // parse_sliteral: "Expected string literal"; parse_pxefile_top returns the error.
    const Intent intent = extlinux(label("a", "append\nfdtoverlays /a\n"));
    CHECK(overlays_of(intent) == "5 depends a line 4 without a value, for which U-Boot gives the "
                                 "whole file up\n");
    CHECK(remarks_of(intent) == "4 malformed: \"append\" needs a value: without one U-Boot takes "
                                "nothing of the whole file\n");
    CHECK(remarks_of(extlinux("label # nameless\n")).find("needs a value") != std::string::npos);
}

TEST_CASE("a carriage return becomes part of the last path", "[bootfiles]") {
    const Intent intent = extlinux(label("a", "fdtoverlays /a /b\r\n"));
    CHECK(overlays_of(intent) ==
          "4 yes a\n4 depends b whether the loader takes the carriage return off\n");
    CHECK(remarks_of(intent).find("4 malformed: the line ends with a carriage return") == 0);
}

TEST_CASE("included menus are named, not read", "[bootfiles]") {
    CHECK(remarks_of(extlinux("menu include other.conf\ninclude third.conf\n")) ==
          "1 not_found: an included menu is not read here: labels in it are not seen\n"
          "2 not_found: an included menu is not read here: labels in it are not seen\n");
}

TEST_CASE("a NUL byte ends a menu's text", "[bootfiles]") {
    const std::string text = label("a", "fdtoverlays /a\n") + '\0' + label("b", "fdtoverlays /b\n");
    const Intent intent = extlinux(text);
    CHECK(overlays_of(intent) == "4 yes a\n");
    CHECK(remarks_of(intent) == "5 malformed: a NUL byte; what follows it is not read\n");
}

TEST_CASE("a menu that is too long is read to the limit", "[bootfiles]") {
    CHECK(remarks_of(extlinux(std::string(70'000, '\n'))).find("too_long") != std::string::npos);
    CHECK(remarks_of(extlinux("#" + std::string(1U << 20U, 'x'))).find("too_long") !=
          std::string::npos);
    std::string many = label("a", "fdtoverlays");
    for (int i = 0; i < 5'000; ++i) {
        many += " /x";
    }
    const Intent intent = extlinux(many);
    CHECK(intent.overlays.size() == 4'096);
    CHECK(remarks_of(intent).find("too_long") != std::string::npos);
}
