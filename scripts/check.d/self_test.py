# SPDX-License-Identifier: MIT
"""Shows that every check can fail: for each a tree that breaks it and one that does not."""

import re
import shutil
import tempfile
from pathlib import Path

import form
import mutated
import purity
import rules
import tidy

CPP = "// SPDX-License-Identifier: MIT\n"
CMAKE = "# SPDX-License-Identifier: MIT\n"

TO_BREAK = mutated.ALL["whoever may send is not asked for the request"][0][1]

# rule: (trees in which it must speak, trees in which it must not)
CASES = {
    "rooms": (
        [{"lib/util/a.hpp": ""}, {"daemon/helpers/a.cpp": ""}],
        [{"lib/core/a.hpp": "", "daemon/sys/a.cpp": "", "lib/CMakeLists.txt": ""}]),
    "include-directions": (
        [{"lib/base/a.hpp": '#include "core/b.hpp"\n'},
         {"lib/core/a.hpp": '#include "config/b.hpp"\n'},
         {"lib/core/a.hpp": '#include "supervisor/b.hpp"\n'},
         {"lib/circuit/a.hpp": '#include "core/b.hpp"\n'},
         {"lib/core/a.cpp": '#include "a.hpp"\n'},
         {"lib/core/a.cpp": '#include "support/a.hpp"\n'},
         {"daemon/gpio/a.cpp": '#include "daemon/login/b.hpp"\n'},
         {"lib/supervisor/ports/a.hpp": '#include "daemon/gpio/b.hpp"\n'},
         {"lib/bounce/a.hpp": '#include "supervisor/b.hpp"\n'},
         {"lib/core/a.cpp": '#include "core/deeper/b.hpp"\n'},
         {"daemon/service/a.cpp": '#include "daemon/tool/b.hpp"\n'},
         {"daemon/guard/a.cpp": '#include "daemon/gpio/b.hpp"\n'}],
        [{"lib/config/a.cpp": '#include "config/a.hpp"\n#include "core/b.hpp"\n#include <span>\n',
          "lib/supervisor/a.cpp": '#include "supervisor/ports/clock.hpp"\n',
          "daemon/service/a.cpp": '#include "daemon/gpio/b.hpp"\n#include "core/b.hpp"\n'}]),
    "link-directions": (
        [{"lib/base/CMakeLists.txt":
          "target_link_libraries(nightlatch_base PUBLIC nightlatch_core)"},
         {"lib/core/CMakeLists.txt":
          "target_link_libraries(nightlatch_core\n  PRIVATE PkgConfig::GPIOD)"},
         {"lib/core/CMakeLists.txt": "target_link_libraries(stray PUBLIC nightlatch_base)"},
         {"daemon/service/CMakeLists.txt":
          "add_executable(nightlatchd main.cpp)\n"
          "target_link_libraries(nightlatchd PRIVATE nlohmann_json::nlohmann_json)"},
         {"lib/core/CMakeLists.txt":
          "target_link_libraries(nightlatch_core PUBLIC Threads::Threads)"},
         {"lib/devicetree/CMakeLists.txt": "add_library(nightlatch_devicetree_blob STATIC a.cpp)",
          "daemon/service/CMakeLists.txt":
          "add_executable(nightlatchd main.cpp)\n"
          "target_link_libraries(nightlatchd PRIVATE nightlatch_devicetree_blob)"}],
        [{"lib/core/CMakeLists.txt":
          "target_link_libraries(nightlatch_core PUBLIC nightlatch_base nightlatch_build)",
          "daemon/gpio/CMakeLists.txt":
          "target_link_libraries(nightlatch_gpio PUBLIC nightlatch_supervisor # a port\n"
          "  PRIVATE PkgConfig::GPIOD)"}]),
    "library-users": (
        [{"lib/core/a.cpp": "#include <toml++/toml.h>\n"},
         {"daemon/login/a.cpp": "#include <gpiod.h>\n"},
         {"daemon/service/a.cpp": "#include <nlohmann/json.hpp>\n"},
         {"daemon/service/a.cpp": "#include <CLI/CLI.hpp>\n"}],
        [{"lib/config/a.cpp": "#include <toml++/toml.h>\n",
          "daemon/gpio/a.cpp": "#include <gpiod.h>\n", "tests/a.cpp": "#include <gpiod.h>\n"}]),
    "pure-includes": (
        [{"lib/core/a.cpp": f"#include <{name}>\n"} for name in (
            "thread", "mutex", "fstream", "filesystem", "fcntl.h", "iostream", "random",
            "unistd.h", "sys/stat.h", "time.h", "clocale", "gpiod.h", "systemd/sd-bus.h")],
        [{"lib/core/a.cpp": "#include <string>\n#include <chrono>\n",
          "daemon/sys/a.cpp": "#include <unistd.h>\n"}]),
    "pure-calls": (
        [{"lib/core/a.cpp": f"{text};\n"} for text in (
            "auto t = std::chrono::steady_clock::now()", "using C = std::chrono::system_clock",
            "clock_gettime(CLOCK_MONOTONIC, &t)", "std::this_thread::sleep_for(1s)", "sleep(1)",
            'getenv("HOME")', 'auto f = ::open("x", 0)', 'std::printf("x")', 'std::cout << "x"',
            "int r = rand()", "std::jthread t", "toml::parse_file(x)", "auto t = clock_.now()")]
        + [{"lib/supervisor/a.cpp": f"{text};\n"} for text in (
            "auto t = now()", 'auto f = ::open("x", 0)', "clock_gettime(CLOCK_MONOTONIC, &t)")],
        [{"lib/core/a.cpp": '// now() is not called; "sleep(1)"\nauto s = "now()";\n'
                            "auto n = 1'000; std::snprintf(b, n, f); file.open(x); reopen(1);\n",
          "lib/supervisor/a.cpp": "auto t = ports_.clock.now(); line.open(r);\n"
                                  "virtual Result<LineFacts> open(const LineRequest& r) = 0;\n",
          "lib/base/ensure.cpp": 'std::fprintf(stderr, "x");\n', "daemon/sys/a.cpp": "sleep(1);"}]),
    "one-file-each": (
        [{"daemon/gpio/a.cpp": "#include <gpiod.h>\n", "daemon/gpio/b.cpp": "#include <gpiod.h>\n"},
         {"daemon/login/a.cpp": "#include <systemd/sd-bus.h>\n",
          "daemon/bus/b.cpp": "#include <systemd/sd-bus.h>\n"},
         {"daemon/tool/json.cpp": "#include <nlohmann/json.hpp>\n",
          "daemon/tool/b.hpp": "#include <nlohmann/json_fwd.hpp>\n"},
         {"daemon/tool/cli.cpp": "#include <CLI/CLI.hpp>\n",
          "daemon/tool/check/options.cpp": "#include <CLI/App.hpp>\n"}],
        [{"daemon/gpio/a.cpp": "#include <gpiod.h>\n", "tests/a.cpp": "#include <gpiod.h>\n",
          "daemon/sys/a.cpp": "#include <systemd/sd-daemon.h>\n",
          "daemon/sys/b.cpp": "#include <systemd/sd-daemon.h>\n",
          "daemon/tool/json.cpp": "#include <nlohmann/json.hpp>\n#include <nlohmann/json_fwd.hpp>\n",
          "tests/b.cpp": "#include <nlohmann/json.hpp>\n"}]),
    "plain-errors": (
        [{"lib/core/a.cpp": "throw 1;\n"}, {"daemon/sys/a.cpp": "assert(x);\n"}],
        [{"lib/core/a.cpp": "// nobody may throw\nstatic_assert(true);\n",
          "tests/a.cpp": "throw 1;"}]),
    "no-process": (
        [{"daemon/service/a.cpp": "fork();\n"}, {"daemon/cues/a.cpp": "::execve(a, b, c);\n"}],
        [{"daemon/tool/follow.cpp": "fork();\n", "daemon/cues/a.cpp": "const char* system = x;\n"}]),
    "sizes": (
        [{"lib/core/a.cpp": "\n" * 401}, {"tests/unit/a.cpp": "\n" * 601}],
        [{"lib/core/a.cpp": "\n" * 400, "tests/golden/a.trace": "\n" * 2000}]),
    "long-lines": (
        [{"lib/core/a.cpp": "x" * 101 + "\n"}, {"scripts/a": "#!/bin/sh\n" + "x" * 111},
         {"lib/core/a.cpp": f"// clang-format off\n// clang-format on\n{'x' * 101}\n"}],
        [{"lib/core/a.cpp": "ü" * 100 + "\n", "README.md": "x" * 200},
         {"tests/a.cpp": f"// clang-format off\n{'x' * 150}\n// clang-format on\n"}]),
    "clean-text": (
        [{"a.md": "x"}, {"a.md": "x \n"}, {"a.md": "x\r\n"}, {"a.md": "x\n\n"},
         {"lib/core/a.cpp": "\tx\n"}],
        [{"a.md": "x\n\ny\n", "empty": ""}]),
    "plain-words": (
        [{"lib/core/a.cpp": '"the line cannot be ' 'had"\n'}, {"a.md": 'failed, for want ' 'of time\n'}],
        [{"a.md": "the line is not available; it has to be handed over, for want\n"}]),
    "licence-lines": (
        [{"lib/core/a.cpp": "int x;\n"}, {"scripts/a": "#!/bin/sh\n"}, {"CMakeLists.txt": "x\n"},
         {"lib/core/a.cpp": "// SPDX-License-Identifier: MIT Reads a line.\n"}],
        [{"lib/core/a.cpp": CPP, "scripts/a": "#!/bin/sh\n" + CMAKE, "a.toml": "x\n"}]),
    "dead-files": (
        [{"lib/core/a.hpp": CPP}, {"lib/core/a.cpp": CPP, "lib/core/CMakeLists.txt": "ba.cpp"}],
        [{"lib/core/a.hpp": CPP, "lib/core/a.cpp": '#include "core/a.hpp"\n',
          "lib/core/CMakeLists.txt": "add_library(nightlatch_core a.cpp)",
          "tests/unit/a_test.cpp": CPP, "tests/unit/CMakeLists.txt": "x(${name}_test.cpp)"}]),
    "defined": (
        [{"lib/core/a.hpp": "int twice(int x);\n", "lib/core/a.cpp": "int y = twice(2);\n"},
         {"lib/core/a.hpp": "class A {\npublic:\n    [[nodiscard]] int b() const noexcept;\n};\n",
          "lib/core/a.cpp": "int b() {\n    return A().b();\n}\nint B::b() {\n}\n"},
         {"daemon/sys/a.hpp": "class A {\n    explicit A(int x);\n    ~A();\n};\n",
          "daemon/sys/a.cpp": "A::A(int x) : x_(x) {}\n"}],
        [{"lib/core/a.hpp": "int twice(int x);\nclass A {\n    A(int x = 1);\n    ~A() = default;\n"
          "    virtual int c() = 0;\n    int d() { return e(1); }\n    int (*f)(int);\n"
          "    std::function<void(int)> g;\n    friend int h();\n    int x_ = i(2);\n};\n"
          "// int j();\n#define K int k();\ntemplate <class T>\nstruct L {\n    T m();\n};\n",
          "lib/core/a.cpp": "int twice(int x) {\n    return 2 * x;\n}\nA::A(int x) : x_(x) {}\n"
          "template <class T>\nT L<T>::m() {\n}\n"}]),
    "one-text": (
        [{"lib/core/a.cpp": "std::string in_quotes(const std::string& x) {\n"},
         {"daemon/gpio/a.cpp": "std::optional<unsigned> number_in(std::string_view text) {\n"},
         {"lib/wave/a.hpp": "std::string_view trimmed(std::string_view text) noexcept;\n"},
         {"daemon/tool/lines/a.cpp": "std::string counted(std::size_t n, const char* what) {\n"}],
        [{"lib/base/text.cpp": "std::string safe(std::string_view foreign) {\n",
          "lib/core/a.cpp": "    return in_quotes(x);\nstd::string unsafe(int x) {\n",
          "tests/a.cpp": "void* counted(std::size_t size) {\n"}]),
    "raw-quotes": (
        [{"lib/core/a.cpp": 'x = "no \\"" + name;\n'}, {"daemon/gpio/a.cpp": 'x = name + "\\": no";\n'},
         {"lib/core/a.cpp": 'x = "\\""\n    + name;\n'}],
        [{"lib/core/a.cpp": 'x = "no " + in_quotes(name) + " of \\"ours\\" here";\n',
          "lib/picture/a.cpp": 'x = "<p d=\\"" + data + "\\"";\n'}]),
    "who-prints": (
        [{"daemon/tool/lines/a.cpp": 'std::fprintf(stderr, "nightlatch: %s", x.c_str());\n'}],
        [{"daemon/tool/terminal.cpp": 'std::fprintf(stderr, "%s", x.c_str());\n',
          "daemon/tool/lines/a.cpp": 'complain(x);  // on stderr\n'}]),
    "test-names": (
        [{"tests/a.cpp": 'TEST_CASE("--json", "[x]") {\n'},
         {"tests/a.cpp": 'TEST_CASE_METHOD(Bus, "[x]", "[x]") {\n'}],
        [{"tests/a.cpp": 'TEST_CASE("with --json", "[x]") {\n', "lib/core/a.cpp": ""}]),
    "mutations": (
        [{"lib/core/core_line.cpp": "x"}, {"lib/core/core.hpp": 2 * TO_BREAK}],
        [{"lib/core/core.hpp": TO_BREAK, "lib/core/none.cpp": "x"}]),
    "reasons": (
        [{"tests/property/a_test.cpp": 'TEST_CASE("another one", "[x]") {\n'}],
        [{"tests/property/a_test.cpp": "".join(f'TEST_CASE("{test}", "[x]") {{\n'
                                               for _, test in mutated.NO_COUNTER_EXAMPLE.values())}]),
    # The addresses are put together here, or this file itself would be found.
    "no-machine": (
        [{"a": "deb http:" + "//archive.example/debian bookworm main\n"},
         {"a": "URIs" + ": https://archive.example/debian\n"},
         {"a": "curl http:" + "//archive.example/debian/ \n"},
         {"a": "pip --index-url " + "https://packages.example/simple\n"}],
        [{"a.md": "see https://manual.example/debian/gpio.html and https://kernel.example/doc\n"}]),
}

GOOD_CODE = CPP + "int twice(int x) {\n    return 2 * x;\n}\n"
BAD_LAYOUT = CPP + "int  twice( int x ){ return 2*x; }\n"
BAD_TIDY = CPP + "int Twice(int x) {\n    int* p = 0;\n    return p ? 2 * x : (int)1.0;\n}\n"


def text_rules() -> list[str]:
    said = []
    for rule in rules.RULES:
        bad, good = CASES.get(rule.name, ([], []))
        if not bad or not good:
            said.append(f"{rule.name}: has no bad or no good case")
        said += [f"{rule.name}: silent on {tree}" for tree in bad if not list(rule.find(tree))]
        said += [f"{rule.name}: {found}" for tree in good for found in rule.find(tree)]
    tree = {"a": "built in /srv/" + "farm/tree by hand\n"}
    if not list(form.no_machine(tree, ("/srv/" + "farm/",))):
        said.append("no-machine: silent on a place of this machine")
    samples = " ".join(str(case) for case in CASES.values())
    for table in (purity.FORBIDDEN_IN_LIB, purity.FORBIDDEN_CALLS_IN_LIB,
                  purity.FORBIDDEN_EVERYWHERE, purity.FORBIDDEN_PROCESSES):
        said += [f"{form}: no case" for form in table if not re.search(form, samples)]
    return said


def expect(said: list[str], name: str, found: list[str], bad: bool) -> None:
    if bool(found) != bad:
        said.append(f"{name}: {'silent on a bad file' if bad else found}")


def files(check, top: Path) -> list[str]:
    """The checks that need real files: layout and scripts."""
    said = []
    shutil.copy(check.TOP / ".clang-format", top)
    for name, text, bad in (("good.cpp", GOOD_CODE, False), ("bad.cpp", BAD_LAYOUT, True)):
        (top / name).write_text(text)
        expect(said, "layout", check.check_format([name], top), bad)
    for name, text, mode, bad in (
            ("good", "#!/bin/bash\necho good\n", 0o755, False),
            ("broken", "#!/bin/bash\nif true; then\n", 0o755, True),
            ("unquoted", "#!/bin/sh\nread x\ncd $1\n", 0o755, True),
            ("rules", "#!/usr/bin/make -f\n%:\n\tdh $@\n", 0o755, False),
            ("asleep", "#!/bin/sh\necho x\n", 0o644, True),
            ("good.py", "x = 1\n", 0o644, False),
            ("bad.py", "x = = 1\n", 0o644, True)):
        (top / name).write_text(text)
        (top / name).chmod(mode)
        expect(said, f"scripts, {name}", check.check_scripts([name], top), bad)
    return said


def clang_tidy(check, top: Path) -> list[str]:
    """Clean, remembered, changed through a header, and a file that is not clean."""
    said = []
    shutil.copy(check.TOP / ".clang-tidy", top)
    tree = {"CMakeLists.txt": "cmake_minimum_required(VERSION 3.25)\nproject(x LANGUAGES CXX)\n"
                              "set(CMAKE_EXPORT_COMPILE_COMMANDS ON)\n"
                              "add_library(x lib/a.cpp)\nadd_library(y tests/a.cpp tests/b.cpp)\n",
            "lib/a.hpp": CPP, "lib/a.cpp": '#include "a.hpp"\n' + GOOD_CODE,
            "tests/a.cpp": CPP, "tests/b.cpp": CPP,
            ".clang-tidy": "x"}

    def run(which: str = "changed", **changed: str) -> list[str]:
        tree.update({name.replace("_", "/").replace("-", "."): text
                     for name, text in changed.items()})
        for name, text in tree.items():
            if name != ".clang-tidy":
                (top / name).parent.mkdir(exist_ok=True)
                (top / name).write_text(text)
        return tidy.run(top, tree, which)

    expect(said, "clang-tidy", run(), False)
    expect(said, "clang-tidy, in a header", run(**{"lib_a-hpp": BAD_TIDY}), True)
    expect(said, "clang-tidy, not remembered as clean", run(), True)
    expect(said, "clang-tidy, mended", run(**{"lib_a-hpp": CPP}), False)
    expect(said, "clang-tidy, in a source", run(**{"lib_a-cpp": BAD_TIDY}), True)
    long = CPP + "int f(int x) {\n" + "    x += 1;\n" * 61 + "    return x;\n}\n"
    expect(said, "clang-tidy, a long function", run(**{"lib_a-cpp": long}), True)
    expect(said, "clang-tidy, in batches", run("all", **{"lib_a-cpp": CPP}), False)
    expect(said, "clang-tidy, a test of a batch", run("all", **{"tests_b-cpp": BAD_TIDY}), True)
    expect(said, "clang-tidy, a test mended", run("all", **{"tests_b-cpp": CPP}), False)
    expect(said, "clang-tidy, a source of a batch", run("all", **{"lib_a-cpp": BAD_TIDY}), True)
    path = CPP + "int g(int x) {\n    int* p = nullptr;\n    return x > 0 ? *p : 0;\n}\n"
    expect(said, "clang-tidy, a path", run("each", **{"lib_a-cpp": path}), True)
    shutil.rmtree(tidy.cache_folder(top))
    return said


def run(check) -> list[str]:
    said = text_rules()
    with tempfile.TemporaryDirectory() as folder:
        said += files(check, Path(folder))
    with tempfile.TemporaryDirectory() as folder:
        said += clang_tidy(check, Path(folder))
    return said
