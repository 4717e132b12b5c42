// SPDX-License-Identifier: MIT
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// What a boot loader's configuration asks for, by its text alone. The running kernel's tree is the
/// truth; the text only explains it.
namespace nightlatch::bootfiles {

enum class Certainty : unsigned char {
    yes,
    no,       ///< it stands in the text but does not apply, say in a section for another model
    depends,  ///< on something that the text cannot tell: `condition` says on what
};

struct FileLine {
    std::string file;   ///< as it was given to the parser; an included file has its own name
    unsigned line = 0;  ///< from 1
};

/// One parameter of an overlay, in the order of the text.
struct Parameter {
    std::string name;
    std::string value;  ///< "" for a bare name
    FileLine place;
    /// Of the parameter itself, given that the overlay is loaded: yes or depends, never no.
    Certainty certainty = Certainty::yes;
    std::string condition{};  ///< of a `depends`
};

/// What was seen of a file that a text names, by whoever can look: the text alone cannot tell.
enum class FileSeen : unsigned char { not_looked, there, missing };

/// A post-halt node, as an overlay's file has it.
struct PostHaltSeen {
    std::string node;                ///< its name
    std::optional<unsigned> offset;  ///< nothing: its controller's way of counting is not known
    bool active_low = false;
    unsigned active_ms = 100;  ///< the driver's default
    /// The label that names its controller, which only the tree that it is put into can tell; ""
    /// where it is named otherwise.
    std::string controller{};
};

/// An overlay's file.
struct OverlayFile {
    FileSeen seen{};
    std::string where;  ///< where it is, or the places where it is not
    std::optional<PostHaltSeen> post_halt;
};

/// An overlay that the text loads.
struct OverlayUse {
    std::string name;  ///< "gpio-poweroff"; without folder, prefix or .dtbo
    std::string file;  ///< the path that the loader reads, as far as the text says; else ""
    FileLine place;
    Certainty certainty = Certainty::yes;
    std::string
        condition;  ///< of a `no` or a `depends`, for people: "[gpio4=1] (the level at boot)"
    std::vector<Parameter> parameters;
    OverlayFile content{};
    /// Does it stand where the next update of the system leaves it? Only a text that a program
    /// writes can lose it.
    bool lasts = true;
};

/// A line's state that the firmware sets early: `gpio=17=op,dh`.
struct EarlyLine {
    unsigned line = 0;
    bool output = false;
    bool input = false;
    enum class Pull : unsigned char { unstated, up, down, none } pull = Pull::unstated;
    enum class Drive : unsigned char { unstated, low, high } drive = Drive::unstated;
    FileLine place;
    Certainty certainty = Certainty::yes;
    std::string condition;
};

/// What somebody who reads the text should know.
enum class RemarkKind : unsigned char {
    cut,                ///< a line is longer than the loader reads: the rest is ignored
    unknown_parameter,  ///< an overlay has no such parameter, and the loader says nothing
    malformed,          ///< a line that the loader ignores
    repeated,           ///< a key that may stand once stands again: the last holds
    not_found,          ///< an included file is not there
    too_deep,           ///< includes within includes, more than the limit: not followed
    unknown_overlay,  ///< hardly an overlay's name, and the loader silently skips what is not there
    too_long,         ///< more than this reader takes: the rest was not looked at
};

struct Remark {
    RemarkKind kind{};
    FileLine place;
    std::string text;  ///< one sentence for people, with the nearest known name where there is one
};

enum class Loader : unsigned char {
    config_txt,  ///< the firmware's config.txt
    env_txt,     ///< key=value for a boot script: armbianEnv.txt and its kin
    extlinux,    ///< extlinux.conf
};

/// Which program writes a text anew at every update: what a person adds there is lost.
enum class Writer : unsigned char {
    nobody,          ///< the file is people's own
    raspi_firmware,  ///< config.txt, from /etc/default/raspi-firmware-custom
    u_boot_menu,     ///< extlinux.conf, from the overlays in /boot/dtbo
};

/// The writer, by what it writes at the top of its file.
Writer writer_of(std::string_view text);

/// Everything that one boot loader's text asks for.
struct Intent {
    Loader loader{};
    std::string file;
    std::vector<OverlayUse> overlays;
    std::vector<EarlyLine> early_lines;
    std::vector<Remark> remarks;
    Writer writer{};
    /// Of …Env.txt, whose scripts differ: the assignment that loads an overlay by this script, up
    /// to the overlay's name: "user_overlays=", "uboot_overlay_addr4=/lib/firmware/". "" where the
    /// text does not show it.
    std::string overlay_word{};
    /// Of config.txt: the overlay that makes a post-halt node by parameters.
    FileSeen parametric_overlay{};
};

std::string_view text_of(Loader loader) noexcept;

}  // namespace nightlatch::bootfiles
