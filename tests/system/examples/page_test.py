# SPDX-License-Identifier: MIT
"""The page in a browser: what a person sees at each cue, and what stays when nobody tells any more.

  page_test.py EXAMPLES SUPPORT [unittest options]    exit status 77: not run, chromium is missing
"""

import sys
import tempfile
import unittest
from pathlib import Path

EXAMPLES, SUPPORT = (Path(sys.argv.pop(1)) for _ in range(2))
sys.dont_write_bytecode = True
sys.path[:0] = [str(SUPPORT / "player"), str(SUPPORT)]

from browser import PROGRAM, Browser  # noqa: E402
from cases import CASES  # noqa: E402
from player import Player, Program, announced, lasting, not_running, now, state  # noqa: E402

BRIDGE = EXAMPLES / "screen" / "bridge.py"
SCREENS = ((320, 240), (240, 320), (480, 320), (800, 480), (480, 800), (1024, 768), (1920, 1080),
           (1080, 1920))

# What does not fit: outside the screen, a word wider than its column, lines that are cut off.
MISFITS = """[...document.querySelectorAll("#title, #detail, #more, #notes, #call-off, #sign")]
  .filter((one) => one.checkVisibility())
  .filter((one) => {
    const box = one.getBoundingClientRect();
    return box.left < 0 || box.top < 0 || box.right > innerWidth + 1 || box.bottom > innerHeight + 1 ||
      (one.id !== "sign" && one.scrollWidth > one.clientWidth + 2) ||
      (getComputedStyle(one).overflow === "hidden" && one.scrollHeight > one.clientHeight + 6);
  }).map((one) => `${one.id} "${one.textContent.trim()}"`).join(", ")"""
SIGN = "document.body.dataset.sign === '%s'"
TEXT = "document.querySelector('main').innerText.trim()"


class PageTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls) -> None:
        cls.browser = cls.enterClassContext(Browser())

    def setUp(self) -> None:
        self.player = self.enterContext(Player())
        self.player.play(state("rest"))
        self.file = Path(self.enterContext(tempfile.TemporaryDirectory())) / "address"
        self.start_bridge("--allow-call-off")
        self.page = self.enterContext(self.browser.open(self.file.read_text().strip()))
        self.page.wait_for(SIGN % "rest")

    def start_bridge(self, *options: str) -> None:
        self.bridge = self.enterContext(Program(BRIDGE, "--address-file", self.file, *options,
                                                environment=self.player.environment))
        self.bridge.wait_for_line("http://")

    def test_every_cue_is_told_in_words_that_fit_every_screen(self) -> None:
        for name, (record, words) in CASES.items():
            self.player.play(state("rest"))
            self.page.wait_for(SIGN % "rest")
            self.player.play(record())
            self.page.wait_for_text(words)
            for size in SCREENS:
                self.page.resize(*size)
                self.assertEqual(self.page.ask(MISFITS), "", f"{name} at {size}")

    def test_at_rest_there_is_only_a_quiet_sign(self) -> None:
        self.assertEqual(self.page.ask(TEXT), "")
        self.assertLess(self.page.ask("document.getElementById('sign').getBoundingClientRect().height"),
                        480 / 8)

    def test_each_cue_has_a_shape_of_its_own(self) -> None:
        shapes = set()
        cues = ("rest", "waiting", "holding", "ready", "countdown", "leaving", "refused", "stuck", "fault")
        for cue in cues:
            self.player.play(lasting(cue, 5, stage="off"))
            self.page.wait_for(SIGN % cue)
            shapes.add(self.page.ask("""[...document.querySelectorAll("#sign [class^=of-]")]
                .filter((one) => one.checkVisibility()).map((one) => one.outerHTML).join()"""))
        self.assertEqual(len(shapes), len(cues))
        self.assertNotIn("", shapes)

    def test_a_holds_progress_runs_by_itself_to_its_end(self) -> None:
        self.player.play(lasting("holding", 1.5))
        self.page.wait_for_text("for “write now”")
        self.page.wait_for("parseFloat(document.getElementById('gone').style.strokeDasharray) > 50")
        self.page.wait_for("parseFloat(document.getElementById('gone').style.strokeDasharray) === 100")

    def test_who_wants_no_motion_gets_progress_by_quarters(self) -> None:
        self.page.prefer(prefers_reduced_motion="reduce")
        begin = now()
        self.player.play(lasting("countdown", 4, since=begin - 1_500_000, stage="off"))
        self.page.wait_for(SIGN % "countdown")
        seen = self.page.ask("parseFloat(document.getElementById('gone').style.strokeDasharray)")
        self.assertIn(seen, (75, 50, 25, 0))

    def test_the_countdown_counts_and_its_button_calls_it_off(self) -> None:
        self.player.play(lasting("countdown", 2.5, stage="off"))
        self.page.wait_for("document.getElementById('seconds').textContent === '2'")
        self.page.wait_for("document.getElementById('seconds').textContent === '1'")
        self.page.ask("document.getElementById('call-off').click()")
        self.player.wait_for_call("call-off")

    def test_a_call_off_that_comes_too_late_is_told(self) -> None:
        self.player.call_off_status = 1
        self.player.play(lasting("countdown", 600, stage="off"))
        self.page.wait_for("document.getElementById('call-off').checkVisibility()")
        self.page.ask("document.getElementById('call-off').click()")
        self.page.wait_for_text("It could not be called off")

    def test_there_is_no_button_where_the_bridge_allows_no_call_off(self) -> None:
        self.bridge.stop()
        self.start_bridge()
        self.player.play(lasting("countdown", 600, stage="off"))
        self.page.wait_for(SIGN % "countdown")
        self.page.wait_for("!document.getElementById('call-off').checkVisibility()")
        self.assertIn("Press the button again to call it off", self.page.ask(TEXT))

    def test_do_not_unplug_stays_when_everything_else_has_ended(self) -> None:
        self.player.play(state("leaving", stage="off", reason={"code": "asked"}))
        self.page.wait_for_text("Do not unplug yet")
        other = self.enterContext(self.browser.open(self.file.read_text().strip()))
        other.wait_for_text("Do not unplug yet")
        for page in (self.page, other):
            page.ask("""window.seen = new Set();
                new MutationObserver(() => seen.add(document.body.dataset.sign))
                  .observe(document.body, {attributes: true})""")
        self.player.play(not_running())
        self.player.end()
        self.bridge.stop()
        for page in (self.page, other):  # the page has tried again, in vain, and seen that
            page.ask("""new Promise((done) => new PerformanceObserver((list) => list.getEntries().some(
                (one) => one.name.endsWith("events") && one.responseStatus === 0) && done(true))
                .observe({type: "resource", buffered: true}))""")
            self.assertIn("Do not unplug yet", page.ask(TEXT))
            self.assertEqual(page.ask("[...seen].filter((one) => one !== 'leaving').join()"), "")

    def test_do_not_unplug_ends_when_the_service_says_otherwise(self) -> None:
        self.player.play(state("leaving", stage="off"))
        self.page.wait_for_text("Do not unplug yet")
        self.player.play(not_running())
        self.player.play(state("refused", reason={"code": "nothing-came"}))
        self.page.wait_for_text("nothing came of it")

    def test_a_restart_of_the_service_and_of_the_bridge(self) -> None:
        self.player.play(not_running())
        self.page.wait_for_text("Not running")
        self.player.play(state("waiting", level="pressed"))
        self.page.wait_for_text("Let the button go")
        self.bridge.stop()
        self.page.wait_for_text("Connecting")
        self.start_bridge("--allow-call-off")
        self.page.wait_for_text("Let the button go")

    def test_each_reason_of_the_interface_has_words_and_an_unknown_one_its_code(self) -> None:
        codes = ("locked refused not-sent no-answer given-up nothing-came failed no-post-halt "
                 "other-shutdown alarm dry line-lost line-unreadable stuck").split()
        words = self.page.ask(f"""import("./words.js").then((words) =>
            {codes}.map((code) => words.reasonInWords({{code}})))""")
        self.assertEqual(len(set(words)), len(codes))
        self.assertFalse([one for one in words if not one or "undefined" in one or "Something else" in one])
        for strange in ("hurricane", "constructor"):
            self.player.play(state("refused", reason={"code": strange, "text": "wind 60 knots"}))
            self.page.wait_for_text(f"Something else ({strange}): wind 60 knots")

    def test_other_programs_words_stay_words(self) -> None:
        self.player.play(state("refused", reason={"code": "locked", "why": "a & b",
                                                  "who": "<img src=x onerror=document.title='caught'>"}))
        self.page.wait_for_text(
            "<img src=x onerror=document.title='caught'> must not be disturbed now: a & b")
        self.assertEqual(self.page.ask("document.images.length"), 0)

    def test_what_is_told_once_is_shown_and_goes(self) -> None:
        self.player.play(announced("write now"))
        self.page.wait_for_text("“write now”")


if __name__ == "__main__":
    if not PROGRAM:
        print("not run: chromium is not installed, and nothing else shows the page as a person sees it")
        sys.exit(77)
    unittest.main()
