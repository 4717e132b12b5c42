# SPDX-License-Identifier: MIT
"""interface_test.py PROBE FILLED: what the service answers to Introspect is what the interface's XML says;
the bus's policy, polkit's action and the unit name the same account, members and action."""

import copy
import re
import subprocess
import sys
import unittest
import xml.etree.ElementTree as xml
from pathlib import Path

SYSTEMD = Path(__file__).resolve().parents[3] / "systemd"
NAME = "org.nightlatch.Nightlatch1"
EMITS = "org.freedesktop.DBus.Property.EmitsChangedSignal"
FILLED = Path(sys.argv.pop(2))  # the build's files, with the account's name in them
PROBE = ""


def interface(root: xml.Element) -> xml.Element:
    found = [one for one in root.iter("interface") if one.get("name") == NAME]
    assert len(found) == 1, f"{len(found)} interfaces {NAME}"
    return found[0]


def annotations(of: xml.Element) -> dict[str, str]:
    # A property that says nothing emits its changes [D-Bus specification, "Introspection Data
    # Format", EmitsChangedSignal].
    said = {one.get("name"): one.get("value") for one in of.findall("annotation")}
    return {EMITS: "true", **said} if of.tag == "property" else said


def members(of: xml.Element) -> dict:
    """Everything that the interface has, by kind and name."""
    found = {}
    for one in of:
        if not isinstance(one.tag, str) or one.tag == "annotation":
            continue
        arguments = [(arg.get("name"), arg.get("type"), arg.get("direction", ""))
                     for arg in one.findall("arg")]
        found[one.tag, one.get("name")] = (one.get("type"), one.get("access"), arguments,
                                           annotations(one))
    return found


class Interface(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.written = xml.parse(SYSTEMD / f"{NAME}.xml").getroot()
        answer = subprocess.run([PROBE], check=True, capture_output=True, text=True).stdout
        cls.answered = xml.fromstring(answer)

    def test_the_service_has_what_the_xml_says_and_nothing_else(self):
        wanted = members(interface(self.written))
        self.assertEqual(len(wanted), 16)
        self.assertEqual(members(interface(self.answered)), wanted)

    def test_no_other_interface_of_ours_and_no_object_manager(self):
        names = {one.get("name") for one in self.answered.iter("interface")}
        self.assertEqual(names, {NAME, "org.freedesktop.DBus.Peer", "org.freedesktop.DBus.Introspectable",
                                 "org.freedesktop.DBus.Properties"})

    def test_a_difference_would_be_seen(self):
        for change in (lambda one: one.set("type", "x"), lambda one: one.set("access", "readwrite"),
                       lambda one: one.find("annotation").set("value", "invalidates")):
            other = copy.deepcopy(self.written)
            change(interface(other).find("property"))
            self.assertNotEqual(members(interface(other)), members(interface(self.answered)))


class Files(unittest.TestCase):
    def test_the_name_is_for_the_units_account_and_root_alone(self):
        unit = (FILLED / "nightlatch.service").read_text()
        account = re.search(r"^User=(\S+)$", unit, re.M)[1]
        policy = xml.parse(FILLED / f"{NAME}.conf").getroot()
        owners = {one.get("user") for one in policy.iter("policy")
                  if [allow.attrib for allow in one] == [{"own": NAME}]}
        self.assertEqual(owners, {account, "root"})
        self.assertEqual(len(list(policy.iter("policy"))), 3)
        action = xml.parse(FILLED / "polkit" / f"{NAME}.policy").getroot()
        self.assertEqual(action.find("action/annotate").text, f"unix-user:{account}")
        self.assertEqual(action.find("action/annotate").get("key"), "org.freedesktop.policykit.owner")

    def test_everybody_may_call_named_members_of_named_interfaces_alone(self):
        policy = xml.parse(FILLED / f"{NAME}.conf").getroot()
        default = [one for one in policy.iter("policy") if one.get("context") == "default"]
        self.assertEqual(len(default), 1)
        for allow in default[0]:
            self.assertEqual(allow.tag, "allow")
            self.assertEqual(allow.get("send_destination"), NAME)
            self.assertIn("send_interface", allow.attrib)
        called = {allow.get("send_member") for allow in default[0]
                  if allow.get("send_interface") == NAME}
        written = interface(xml.parse(SYSTEMD / f"{NAME}.xml").getroot())
        methods = {one.get("name") for one in written.iter("method")}
        self.assertEqual(called, methods)

    def test_only_the_active_local_session_may_unasked(self):
        action = xml.parse(FILLED / "polkit" / f"{NAME}.policy").getroot().find("action")
        self.assertEqual(action.get("id"), f"{NAME}.call-off")
        defaults = {one.tag: one.text for one in action.find("defaults")}
        self.assertEqual(defaults, {"allow_any": "no", "allow_inactive": "no", "allow_active": "yes"})


if __name__ == "__main__":
    PROBE = sys.argv.pop()
    unittest.main()
