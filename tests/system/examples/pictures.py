#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Pictures of the page at each cue, light and dark, in each shape of screen: to be looked at.

  pictures.py FOLDER [CUE…]   (needs chromium)
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.dont_write_bytecode = True
sys.path[:0] = [str(HERE.parents[1] / "support"), str(HERE.parents[1] / "support" / "player")]

from browser import PROGRAM, Browser  # noqa: E402
from cases import CASES  # noqa: E402
from player import Player, Program, state  # noqa: E402

SCREENS = {"landscape": (800, 480), "portrait": (480, 800), "small": (320, 240), "tall": (240, 320),
           "large": (1920, 1080)}
BRIDGE = HERE.parents[2] / "config" / "examples" / "screen" / "bridge.py"


def main(folder: Path, names: list[str]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with Player() as player, Program(BRIDGE, "--allow-call-off", environment=player.environment) as bridge, \
            Browser() as browser, browser.open(bridge.wait_for_line("http://")) as page:
        player.wait_for_followers()
        for name in names or CASES:
            record, words = CASES[name]
            player.play(state("rest"))
            page.wait_for("document.body.dataset.sign === 'rest'")
            made = record()
            if made.get("until"):  # so that the picture has some of it behind it
                made["since"] -= (made["until"] - made["since"]) // 2
            player.play(made)
            page.wait_for_text(words)
            for look in ("light", "dark"):
                page.prefer(prefers_color_scheme=look)
                for screen, size in SCREENS.items():
                    page.resize(*size)
                    page.picture(folder / f"{name}-{look}-{screen}.png")
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder}")


if __name__ == "__main__":
    if not PROGRAM:
        sys.exit("pictures: chromium is not installed")
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(Path(sys.argv[1]), sys.argv[2:])
