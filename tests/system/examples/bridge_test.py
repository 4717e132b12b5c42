# SPDX-License-Identifier: MIT
"""The bridge between `nightlatch follow --json` and a browser, without a browser: what it serves, to whom
not, and what it survives. The state comes from a stand-in for the tool.

  bridge_test.py EXAMPLES SUPPORT [unittest options]
"""

import re
import socket
import sys
import tempfile
import unittest
from pathlib import Path

EXAMPLES, SUPPORT = (Path(sys.argv.pop(1)) for _ in range(2))
sys.dont_write_bytecode = True
sys.path.insert(0, str(SUPPORT / "player"))

from client import Client  # noqa: E402
from player import Player, Program, announced, lasting, now, not_running, state  # noqa: E402

BRIDGE = EXAMPLES / "screen" / "bridge.py"


class BridgeTest(unittest.TestCase):
    """One bridge for all tests of a class, before one that plays."""
    options: tuple[str, ...] = ()

    @classmethod
    def setUpClass(cls) -> None:
        cls.player = cls.enterClassContext(Player())
        bridge = cls.enterClassContext(Program(BRIDGE, *cls.options, environment=cls.player.environment))
        cls.address = bridge.wait_for_line("http://")
        cls.player.wait_for_followers()

    def setUp(self) -> None:
        self.player.called.clear()
        fresh = state("rest")
        self.player.play(fresh)
        with Client(self.address) as client:
            client.send("events")
            while client.cue("rest")["since"] != fresh["since"]:
                pass  # of the test before this one

    def client(self) -> Client:
        return self.enterContext(Client(self.address))

    def status_of(self, *words: object, **more: str) -> int:
        with Client(self.address) as client:
            return client.send(*words, **more).status()


class Serves(BridgeTest):
    def test_ten_clients_see_the_same_of_one_follower(self) -> None:
        clients = [self.client().send("events") for _ in range(10)]
        for client in clients:
            self.assertEqual(client.status(), 200)
            client.cue("rest")
        self.player.play(lasting("holding", 3))
        for client in clients:
            self.assertEqual(client.cue("holding")["stages"][0]["name"], "write now")
        self.assertEqual((len(self.player.followers), self.player.called), (1, []))

    def test_who_comes_late_gets_the_latest_at_once_by_todays_clock(self) -> None:
        told = lasting("countdown", 3600, stage="off")
        with self.client().send("events") as witness:
            self.player.play({**told, "now": told["now"] - 60_000_000})
            witness.cue("countdown")
        late = self.client().send("events").record()
        self.assertEqual((late["cue"], late["until"]), ("countdown", told["until"]))
        self.assertGreaterEqual(late["now"], told["now"])
        self.assertLessEqual(late["now"], now())

    def test_what_is_told_once_is_told_to_those_who_are_there(self) -> None:
        client = self.client().send("events")
        client.cue("rest")
        self.player.play(announced("write now"))
        self.assertEqual(client.record()["announced"], "write now")
        self.assertEqual(self.client().send("events").record()["cue"], "rest")

    def test_the_page_and_all_it_needs_come_with_headers_that_lock_it_in(self) -> None:
        client = self.client().send("")
        self.assertEqual(client.status(), 200)
        headers = client.headers()
        self.assertIn("default-src 'none'", headers["content-security-policy"])
        self.assertIn("frame-ancestors 'none'", headers["content-security-policy"])
        self.assertNotIn("unsafe", headers["content-security-policy"])
        self.assertEqual(headers["x-frame-options"], "DENY")
        self.assertEqual(headers["referrer-policy"], "no-referrer")
        self.assertFalse([name for name in headers if name.startswith("access-control")])
        page = client.file.read().decode()
        for name in re.findall(r'(?:src|href)="([^"]+)"', page) + ["words.js"]:
            self.assertEqual(self.status_of(name), 200, name)
        self.assertEqual(self.status_of("bridge.py"), 404)
        self.assertEqual(self.status_of("../bridge.py"), 404)

    def test_it_listens_on_this_machine_only(self) -> None:
        port = int(self.client().port)
        listening = [line.split()[1] for kind in ("tcp", "tcp6")
                     for line in Path(f"/proc/net/{kind}").read_text().splitlines()[1:]
                     if line.split()[3] == "0A" and int(line.split()[1].split(":")[1], 16) == port]
        # The kernel's table has addresses in hexadecimal, in this machine's byte order.
        loopback = f"{int.from_bytes(socket.inet_aton('127.0.0.1'), sys.byteorder):08X}:{port:04X}"
        self.assertEqual(listening, [loopback])


class Survives(BridgeTest):
    def test_the_service_going_and_coming(self) -> None:
        client = self.client().send("events")
        client.cue("rest")
        self.player.play(not_running())
        self.assertEqual(client.record()["why"], "no service")
        self.player.play(state("waiting"))
        client.cue("waiting")

    def test_the_end_of_nightlatch_follow(self) -> None:
        client = self.client().send("events")
        client.cue("rest")
        self.player.end()
        self.assertFalse(client.record()["running"])
        client.cue("rest")
        self.assertEqual(self.player.called, [["follow", "--json"]])

    def test_its_own_restart_at_the_same_address(self) -> None:
        with tempfile.TemporaryDirectory() as room:
            file = Path(room) / "address"
            seen = set()
            for _ in range(2):
                with Program(BRIDGE, "--address-file", file, environment=self.player.environment) as bridge:
                    seen.add(bridge.wait_for_line("http://"))
                    self.assertEqual(file.read_text().strip(), *seen)
                    self.assertEqual(file.stat().st_mode & 0o777, 0o600)
            file.chmod(0o644)
            with Program(BRIDGE, "--address-file", file, environment=self.player.environment,
                         stderr=-3) as bridge:
                self.assertEqual(bridge.end(), 1)

    def test_a_client_that_never_reads_and_others_do_not_feel_it(self) -> None:
        deaf = self.client()
        deaf.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 65536)
        deaf.send("events")
        client = self.client().send("events")
        client.cue("rest")
        for _ in range(60):  # more than all buffers between the two hold
            self.player.play(state("refused", reason={"code": "refused", "text": "x" * 100_000}))
            client.cue("refused")
        self.player.play(state("waiting"))
        client.cue("waiting")
        with self.assertRaises((AssertionError, ConnectionError)):
            deaf.cue("waiting")  # it was cut off before


class Refuses(BridgeTest):
    options = ("--allow-call-off",)

    def test_a_foreign_pages_origin(self) -> None:
        for path in ("", "events", "call-off"):
            self.assertEqual(self.status_of(path, Origin="http://tide.example"), 403)
            self.assertEqual(self.status_of(path, "POST", Origin="http://tide.example",
                                            X_Nightlatch="call-off"), 403)

    def test_a_page_from_a_file(self) -> None:
        for path in ("", "events"):
            self.assertEqual(self.status_of(path, Origin="null"), 403)
        self.assertEqual(self.status_of("call-off", "POST", Origin="null", X_Nightlatch="call-off"), 403)

    def test_another_name_for_this_machine(self) -> None:
        port = self.client().port
        for host in ("tide.example", f"tide.example:{port}", "127.0.0.1", f"localhost:{port}",
                     "127.0.0.1:1", ""):
            self.assertEqual(self.status_of("", Host=host), 403, host)

    def test_no_token_and_a_wrong_one(self) -> None:
        token = self.client().token
        self.assertEqual(len(token), 32)
        for wrong in ("", "events", "0" * 32, token[:-1], token + "0", token.upper() + "x", "%00", "\u00fc"):
            for path in ("", "events", "words.js"):
                self.assertEqual(self.status_of(path, token=wrong), 403, wrong)

    def test_reading_what_calls_off(self) -> None:
        own = self.client().own
        for method in ("GET", "HEAD", "PUT", "OPTIONS"):
            self.assertEqual(self.status_of("call-off", method, Origin=f"http://{own}",
                                            X_Nightlatch="call-off"), 403, method)
        self.assertNotIn(["call-off"], self.player.called)

    def test_calling_off_without_origin_or_without_its_own_header(self) -> None:
        own = f"http://{self.client().own}"
        self.assertEqual(self.status_of("call-off", "POST", X_Nightlatch="call-off"), 403)
        self.assertEqual(self.status_of("call-off", "POST", Origin=own), 403)
        self.assertEqual(self.status_of("call-off", "POST", Origin=own, X_Nightlatch="yes"), 403)
        self.assertNotIn(["call-off"], self.player.called)

    def test_the_question_that_a_browser_asks_before_a_foreign_pages_request(self) -> None:
        client = self.client().send("call-off", "OPTIONS", Origin="http://tide.example",
                                    Access_Control_Request_Method="POST",
                                    Access_Control_Request_Headers="x-nightlatch")
        self.assertEqual(client.status(), 403)
        self.assertFalse([name for name in client.headers() if name.startswith("access-control")])

    def test_more_than_sixteen_connections(self) -> None:
        held: list[Client] = []
        while len(held) < 16:
            client = self.client()
            try:
                if client.send("events").status() == 200:
                    held.append(client)
            except ConnectionError:
                pass  # refused: those of the tests before have not all been seen to leave
        self.assertEqual(self.client().status(), 503)
        held.pop().__exit__()
        while not self.lets_in():
            pass  # it has not yet seen that one left
        self.player.play(lasting("holding", 3))
        for client in held:
            client.cue("holding")

    def lets_in(self) -> bool:
        try:
            return self.status_of("words.js") == 200
        except ConnectionError:
            return False

    def test_a_request_that_is_too_long(self) -> None:
        self.assertEqual(self.status_of("", Cookie="x" * 9000), 431)
        self.assertEqual(self.status_of("x" * 9000), 431)

    def test_a_request_that_brings_something(self) -> None:
        own = f"http://{self.client().own}"
        for more in ({"Content_Length": "1"}, {"Transfer_Encoding": "chunked"}):
            self.assertEqual(self.status_of("call-off", "POST", Origin=own, X_Nightlatch="call-off", **more),
                             413)

    def test_a_request_that_is_too_slow(self) -> None:
        client = self.client()
        client.socket.sendall(b"GET / HTTP/1.1\r\nHost:")
        self.assertEqual(client.status(), 408)
        self.assertEqual(client.headers()["connection"], "close")

    def test_what_can_be_read_in_two_ways(self) -> None:
        for head in (b"GET /", b"\x00\xff", b"GET / HTTP/1.1\r\nHost: a\r\nhost: b", b"GET  / HTTP/1.1"):
            client = self.client()
            client.socket.sendall(head + b"\r\n\r\n")
            self.assertEqual(client.status(), 400, head)

    def ask(self) -> int:
        with Client(self.address) as client:
            return client.send("call-off", "POST", Origin=f"http://{client.own}",
                               X_Nightlatch="call-off").status()

    def test_it_calls_off_for_its_own_page(self) -> None:
        self.assertEqual(self.ask(), 204)
        self.player.wait_for_call("call-off")

    def test_it_says_that_there_was_nothing_to_call_off(self) -> None:
        self.player.call_off_status = 1
        self.addCleanup(setattr, self.player, "call_off_status", 0)
        self.assertEqual(self.ask(), 409)


class CallsNothingOff(BridgeTest):
    def test_it_calls_nothing_off_unless_it_was_started_to(self) -> None:
        client = self.client()
        self.assertEqual(self.status_of("call-off", "POST", Origin=f"http://{client.own}",
                                        X_Nightlatch="call-off"), 403)
        self.assertNotIn(["call-off"], self.player.called)


if __name__ == "__main__":
    unittest.main()
