# SPDX-License-Identifier: MIT
"""Executes the polkit rule files with the engine that Debian's polkit is built with (duktape), over
every action of systemd's policy files that are installed here, and compares what each grants."""

import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

HERE = pathlib.Path(__file__).resolve().parent
FILLED = pathlib.Path(sys.argv.pop(1))  # the build's, with the account's name in them
BASE = FILLED / "50-nightlatch.rules"
OVERRIDE = FILLED / "nightlatch-override.rules"
CALL_OFF = HERE.parents[2] / "systemd/polkit/nightlatch-call-off.rules"
POLICIES = pathlib.Path("/usr/share/polkit-1/actions")

LOGIN = "org.freedesktop.login1."
BASE_GRANTS = {
    LOGIN + name
    for name in (
        "power-off", "power-off-multiple-sessions", "reboot", "reboot-multiple-sessions",
        "inhibit-delay-shutdown",
    )
}
OVERRIDE_GRANTS = {LOGIN + "power-off-ignore-inhibit", LOGIN + "reboot-ignore-inhibit"}
# Not one of ours, but what the names could be confused with.
NEIGHBOURS = ["nightlatch2", "root", "night", "nobody", "Nightlatch", ""]


def systemd_actions() -> list[str]:
    actions = []
    for policy in sorted(POLICIES.glob("org.freedesktop.*1.policy")):
        root = xml.etree.ElementTree.parse(policy).getroot()
        actions += [action.attrib["id"] for action in root.iter("action")]
    return actions


def granted(rules: list[pathlib.Path], user: str, actions: list[str]) -> dict[str, str]:
    """Action to decision, of those that the rules decide at all."""
    with tempfile.TemporaryDirectory() as room:
        questions = pathlib.Path(room) / "questions.js"
        questions.write_text(
            "".join(f'print("{action}", decide("{action}", "{user}"));\n' for action in actions))
        stub = HERE / "polkit_stub.js"
        run = subprocess.run(["duk", stub, *rules, questions], text=True, capture_output=True)
    if run.returncode != 0:
        raise AssertionError(f"duk: {run.stdout}{run.stderr}")
    answers = dict(line.split(" ", 1) for line in run.stdout.splitlines())
    if set(answers) != set(actions):
        raise AssertionError(f"not every action was answered: {run.stdout}")
    return {action: answer for action, answer in answers.items() if answer != "not handled"}


class PolkitRules(unittest.TestCase):
    def setUp(self):
        self.actions = systemd_actions()

    def test_the_login_manager_here_knows_every_action_that_is_granted(self):
        self.assertLessEqual(BASE_GRANTS | OVERRIDE_GRANTS, set(self.actions))

    def test_the_base_rule_grants_asking_and_the_delay_lock_and_nothing_else(self):
        self.assertEqual(granted([BASE], "nightlatch", self.actions),
                         {action: "yes" for action in BASE_GRANTS})

    def test_the_base_rule_lets_nobody_pass_locks(self):
        answers = granted([BASE], "nightlatch", self.actions)
        self.assertFalse([action for action in answers if action.endswith("-ignore-inhibit")])

    def test_the_override_rule_grants_passing_locks_and_nothing_else(self):
        self.assertEqual(granted([OVERRIDE], "nightlatch", self.actions),
                         {action: "yes" for action in OVERRIDE_GRANTS})

    def test_both_together_grant_what_each_grants(self):
        self.assertEqual(set(granted([BASE, OVERRIDE], "nightlatch", self.actions)),
                         BASE_GRANTS | OVERRIDE_GRANTS)

    def test_the_call_off_example_grants_one_account_our_action_and_nothing_else(self):
        own = "org.nightlatch.Nightlatch1.call-off"
        actions = [*self.actions, own, own + "-all"]
        self.assertEqual(granted([CALL_OFF], "tide-logger", actions), {own: "yes"})
        for user in [*NEIGHBOURS, "nightlatch", "tide-logger2"]:
            with self.subTest(user=user):
                self.assertEqual(granted([CALL_OFF], user, actions), {})

    def test_any_other_user_gets_nothing_from_either(self):
        for user in NEIGHBOURS:
            with self.subTest(user=user):
                self.assertEqual(granted([BASE, OVERRIDE], user, self.actions), {})

    def test_a_rule_that_grants_too_much_would_be_seen(self):
        with tempfile.TemporaryDirectory() as room:
            careless = pathlib.Path(room) / "careless.rules"
            careless.write_text(BASE.read_text().replace("granted.indexOf(action.id) >= 0",
                                                         'action.id.indexOf("power-off") >= 0'))
            self.assertIn(LOGIN + "power-off-ignore-inhibit",
                          granted([careless], "nightlatch", self.actions))


if __name__ == "__main__":
    unittest.main()
