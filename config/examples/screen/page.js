// SPDX-License-Identifier: MIT
// Draws what the bridge tells. The service sends nothing while nothing changes, and neither is anything
// done here then: a hold's progress and a countdown are drawn from since, until and now.
import {scene} from "./words.js";

const RETRY = 1000;      // ms, when the bridge is gone
const NOTE_LASTS = 6000; // ms, of what is told once

const known = {record: null, left: null, connected: false, mayCallOff: false};
let boardClock = {reads: 0, at: 0};  // its CLOCK_MONOTONIC in us when this page's clock read `at` ms
let shown = scene(known);
let passing = "";        // what is told once
let passingTimer = 0;
let drawing = 0;

const element = (id) => document.getElementById(id);
const still = matchMedia("(prefers-reduced-motion: reduce)");

const boardNow = () => boardClock.reads + (performance.now() - boardClock.at) * 1000;

function say(id, text) {
  if (element(id).textContent !== text) {
    element(id).textContent = text;
  }
}

function show() {
  shown = scene(known);
  document.body.dataset.sign = shown.sign;
  document.title = shown.title || "Button";
  say("title", shown.title);
  say("detail", shown.detail);
  say("more", shown.more || "");
  say("notes", [passing, ...shown.notes].filter(Boolean).join(" · "));
  element("call-off").hidden = !shown.callOff;
  document.body.toggleAttribute("data-progress", Boolean(shown.progress));
  cancelAnimationFrame(drawing);
  draw();
}

// Again at each frame, for as long as something runs; by quarters for who wants no motion.
function draw() {
  const span = shown.progress;
  if (!span) {
    return;
  }
  const whole = Math.max(span.until - span.since, 1);
  const passed = Math.min(Math.max((boardNow() - span.since) / whole, 0), 1);
  const drawn = still.matches ? Math.floor(passed * 4) / 4 : passed;
  const part = shown.seconds ? 1 - drawn : drawn;
  element("gone").style.strokeDasharray = `${100 * part} 200`;
  if (shown.seconds) {
    say("seconds", String(Math.ceil((1 - passed) * whole / 1e6)));
  }
  if (passed < 1) {
    drawing = requestAnimationFrame(draw);
  }
}

function tellOnce(text) {
  passing = text;
  clearTimeout(passingTimer);
  passingTimer = setTimeout(() => { passing = ""; show(); }, NOTE_LASTS);
  show();
}

function take(record) {
  boardClock = {reads: record.now, at: performance.now()};
  if (record.announced !== undefined) {
    tellOnce(`“${record.announced}”`);
    return;
  }
  known.record = record;
  if (record.running) {
    known.left = record.cue === "leaving" ? record : null;
  }
  show();
}

function connect() {
  const source = new EventSource("events");
  source.addEventListener("bridge", (event) => {
    known.connected = true;
    known.mayCallOff = JSON.parse(event.data).call_off;
  });
  source.addEventListener("message", (event) => take(JSON.parse(event.data)));
  // By itself it would give up for good on a bridge that answers with a refusal.
  source.addEventListener("error", () => {
    source.close();
    known.connected = false;
    show();
    setTimeout(connect, RETRY);
  });
}

element("call-off").addEventListener("click", async () => {
  element("call-off").disabled = true;
  try {
    const answer = await fetch("call-off", {method: "POST", headers: {"X-Nightlatch": "call-off"}});
    if (!answer.ok) {
      tellOnce("It could not be called off");
    }
  } catch {
    tellOnce("It could not be called off");
  }
  element("call-off").disabled = false;
});

show();
connect();
