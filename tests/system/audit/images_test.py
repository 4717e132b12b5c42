# SPDX-License-Identifier: MIT
"""What the audit of a mounted image finds, and that it opens nothing but files and folders of it.

usage: images_test.py NIGHTLATCH
"""

import json
import os
import pathlib
import re
import resource
import shutil
import stat
import subprocess
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True

from images import (BASE, FIRMWARE, GOOD_FIRMWARE, HALT, IMAGES, TREE_SOURCE, compiled,  # noqa: E402
                    lay, overlay)

TOOL = sys.argv.pop(1)
ALONE = {**os.environ, "ASAN_OPTIONS": "detect_leaks=0:quarantine_size_mb=0"}


def run(*words, before=()):
    return subprocess.run([*map(str, before), TOOL, *map(str, words)], capture_output=True, text=True,
                          env=ALONE)


def rules_of(root):
    done = run("audit", "--json", "--root", root)
    assert not done.stderr, done.stderr
    return {rule["id"]: rule for rule in json.loads(done.stdout)["rules"]}


def told(rule):
    return rule["reason"] or "; ".join(finding["sentence"] for finding in rule["findings"])


class OnImage(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.root = self.folder / "image"

    def audit(self, files):
        shutil.rmtree(self.root, ignore_errors=True)
        return rules_of(lay(self.root, {**BASE, **files}))


class Findings(OnImage):
    def check_found(self, rules, rule, wanted):
        severity, sentence, remedy = wanted
        found = [one for one in rules[rule]["findings"] if sentence in one["sentence"]]
        self.assertTrue(found, f"{rule}: {told(rules[rule])}")
        self.assertEqual(found[0]["severity"], severity)
        self.assertIn(remedy, found[0]["remedy"])

    def check_passes(self, rules, *tree):
        """What an image build goes by, that asks for these alone."""
        only = [word for rule in rules for word in ("--only", rule)]
        done = run("audit", "--root", self.root, *tree, *only)
        self.assertEqual(done.returncode, 0, done.stdout)

    def trees_of(self, image):
        """How an image build names its board's tree: as it is, and with the overlay put into it."""
        if not image.with_tree:
            return [()]
        tree = self.folder / "board.dtb"
        tree.write_bytes(compiled(TREE_SOURCE))
        named = ("--tree", tree)
        return [named, (*named, "--overlay", str(self.root) + image.with_tree)]

    def test_each_trap_is_found_and_mended_it_is_gone(self):
        for name, image in IMAGES.items():
            severe = [rule for rule, wanted in image.finds.items() if wanted[0] != "note"]
            with self.subTest(name):
                rules = self.audit(image.files)
                for rule, wanted in image.finds.items():
                    self.check_found(rules, rule, wanted)
                wrong = {rule["id"] for rule in rules.values() if rule["group"] == "boot"
                         and any(one["severity"] != "note" for one in rule["findings"])}
                self.assertLessEqual(wrong, set(image.finds))
            with self.subTest(name + ", mended"):
                rules = self.audit(image.files | image.mended)
                for rule in rules.values():
                    found = [one for one in rule["findings"] if one["severity"] != "note"]
                    self.assertFalse(rule["group"] == "boot" and found, told(rule))
                for tree in self.trees_of(image) if severe else ():
                    self.check_passes(severe, *tree)

    def test_on_which_controller_an_overlay_is_the_tree_alone_tells(self):
        image = IMAGES["an overlay by another name, on another line"]
        self.audit(image.files | {image.with_tree: overlay(27, 0, "expander")})
        named = self.trees_of(image)
        unnamed = self.folder / "unnamed.dtb"
        unnamed.write_bytes(compiled(TREE_SOURCE, "-q"))
        for tree, words in (((), "only the tree that it is put into knows"),
                            (("--tree", unnamed), "this one has no label expander"),
                            *((tree, "line 27 of /soc/gpio@20") for tree in named)):
            done = run("audit", "--root", self.root, *tree, "--only", "boot-line")
            self.assertEqual(done.returncode, 1)
            self.assertIn(words, " ".join(done.stdout.split()))

    def test_kernels_that_are_built_alike_decide_and_others_are_named(self):
        both = {"/usr/lib/modules/6.1.90/modules.dep": "",
                "/boot/config-6.1.90": "CONFIG_POWER_RESET_GPIO=y\n"}
        self.assertEqual(self.audit(both)["post-halt-driver"]["outcome"], "pass")
        rule = self.audit(both | {"/boot/config-6.1.90": "CONFIG_A=y\n"})["post-halt-driver"]
        self.assertEqual(rule["outcome"], "cannot-tell")
        self.assertIn("which of the image's kernels boots (6.1.90, 6.12.41)", rule["reason"])

    def test_settings_of_systemd_are_read_from_its_files(self):
        systemd = {"/usr/lib/systemd/systemd": ""}
        rules = self.audit(systemd)
        for rule in ("delay-limit", "stop-timeouts"):
            self.assertEqual(rules[rule]["outcome"], "pass", rule)
        rules = self.audit(systemd | {
            "/etc/systemd/logind.conf.d/tide.conf": "[Login]\nInhibitDelayMaxSec=1\n",
            "/etc/systemd/system.conf.d/tide.conf": "[Manager]\nDefaultTimeoutStopSec=10min\n",
            "/etc/fstab": "LABEL=boot /boot/firmware vfat defaults 0 2\n"})
        for rule in ("delay-limit", "stop-timeouts", "boot-storage"):
            self.assertEqual(rules[rule]["outcome"], "finding", rule)


class Hostile(OnImage):
    def test_links_lead_nowhere_out_of_the_image(self):
        host = lay(self.folder / "host", {
            "/secret.toml": "host_secret = 1\n", "/rules/x.rules":
            'if (u == "nightlatch") allow("power-off-ignore-inhibit");'})
        links = {"/etc/nightlatch/nightlatch.toml": ("link", str(host / "secret.toml")),
                 "/etc/polkit-1/rules.d": ("link", str(host / "rules"))}
        lay(self.root, {**BASE, **links})
        for command in (["audit", "--root", self.root], ["check", "--root", self.root]):
            done = run(*command)
            self.assertNotIn("host_secret", done.stdout + done.stderr)
            self.assertIn("not there", done.stdout + done.stderr)
        shutil.rmtree(self.root)
        lay(self.root, {**BASE, "/etc/polkit-1/rules.d": links["/etc/polkit-1/rules.d"]})
        self.assertNotIn("x.rules", run("check", "--root", self.root).stdout)

    def test_an_absolute_link_begins_at_the_image(self):
        moved = {"/etc/nightlatch/nightlatch.toml": ("link", "/usr/share/factory/tide.toml"),
                 "/usr/share/factory/tide.toml": BASE["/etc/nightlatch/nightlatch.toml"]}
        self.assertEqual(self.audit(moved)["configuration"]["outcome"], "pass")
        self.assertNotEqual(run("check", "--root", self.root).returncode, 2)

    def test_what_is_no_folder_is_a_usage_error(self):
        lay(self.root, BASE)
        for typed in ("", str(self.folder / "none"), str(self.root / "etc/passwd"), "/dev/null"):
            for command in ("audit", "check"):
                done = run(command, "--root", typed)
                self.assertEqual((done.returncode, done.stdout), (2, ""), typed)
                self.assertIn("--root", done.stderr)

    def test_a_pipe_for_a_text_is_told(self):
        lay(self.root, BASE)
        (self.root / "boot/firmware").mkdir()
        os.mkfifo(str(self.root) + FIRMWARE)
        for rule in rules_of(self.root).values():
            if rule["group"] == "boot":
                self.assertIn("config.txt (not a regular file)", rule["reason"])

    def test_many_large_texts_take_little_time_and_memory(self):
        line = "tide=" + "x" * 35 + "\n"
        self.audit(GOOD_FIRMWARE)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        for number in range(400):
            (self.root / f"boot/{number}Env.txt").write_text(line * 25_000)
        boot = [rule for rule in rules_of(self.root).values() if rule["group"] == "boot"]
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.assertTrue(all(rule["outcome"] == "cannot-tell" for rule in boot))
        self.assertLess(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, 2)
        self.assertLess(after.ru_maxrss - before.ru_maxrss, 64 * 1024)  # the largest of all until then

    def test_loops_end(self):
        loop = ("link", "nightlatch.toml")
        rules = self.audit({"/etc/nightlatch/nightlatch.toml": loop})
        self.assertEqual(rules["configuration"]["outcome"], "finding")
        rules = self.audit({FIRMWARE: "include a.txt\n" + HALT,
                            "/boot/firmware/a.txt": "include config.txt\n"})
        self.assertEqual(rules["boot-malformed"]["outcome"], "finding")


@unittest.skipUnless(shutil.which("strace"), "strace is not installed")
class Opened(OnImage):
    """By the kernel's own account of every open."""

    PLACES = ("/etc/nightlatch/nightlatch.toml", FIRMWARE, "/boot/tideEnv.txt", "/boot/config-6.12.41",
              "/boot/extlinux/extlinux.conf", "/etc/passwd", "/etc/fstab", "/etc/polkit-1/rules.d/a.rules",
              "/usr/share/polkit-1/rules.d/50-nightlatch.rules", "/etc/sysctl.d/a.conf",
              "/etc/systemd/logind.conf", "/etc/systemd/system.conf.d/a.conf")

    def opened(self, *command):
        """The paths below the image that were opened, and not only looked for [open(2), O_PATH]."""
        trace = self.folder / "trace"
        run(*command, before=("strace", "-f", "-y", "-qq", "-o", trace, "-e", "trace=open,openat,openat2"))
        text = trace.read_text()
        self.assertIn("O_PATH", text)
        done = re.findall(r"^\d+ +open\S*\((?:(?!O_PATH).)*\) = \d+<(.*)>$", text, re.MULTILINE)
        return [pathlib.Path(path) for path in done if path.startswith(str(self.root))]

    def check_opened(self, make):
        lay(self.root, {path: text for path, text in BASE.items() if path not in self.PLACES})
        for place in self.PLACES:
            target = pathlib.Path(str(self.root) + place)
            target.parent.mkdir(parents=True, exist_ok=True)
            make(str(target))
        opened = self.opened("audit", "--root", self.root)
        self.assertTrue(opened, "nothing was seen to be opened")
        for path in opened + self.opened("check", "--root", self.root):
            mode = path.lstat().st_mode
            self.assertTrue(stat.S_ISREG(mode) or stat.S_ISDIR(mode), path)

    def test_no_pipe_is_opened(self):
        self.check_opened(os.mkfifo)

    @unittest.skipUnless(os.geteuid() == 0, "only root can make a device that can be opened")
    def test_no_device_is_opened(self):
        # The null device: one whose opening would do nothing.
        self.check_opened(lambda path: os.mknod(path, 0o600 | stat.S_IFCHR, os.makedev(1, 3)))


if __name__ == "__main__":
    unittest.main()
