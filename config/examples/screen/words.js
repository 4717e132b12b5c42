// SPDX-License-Identifier: MIT
// What a record of `nightlatch follow --json` looks like on the screen: a sign, words, and what runs.
// Nothing here knows the page, so that other pages (and Node.js) can use it.

const THEN = {"power-off": "it switches off", "reboot": "it starts again"};
const DOING = {"power-off": "Switching off", "reboot": "Starting again"};

// Why it is refused, leaving, in fault or stuck, by the code; the details stand beside it, flat.
const REASONS = {
  "locked": (r) => `${r.who || "Another program"} must not be disturbed now${r.why ? `: ${r.why}` : ""}`,
  "refused": (r) => `The system refused${r.text ? `: ${r.text}` : ""}`,
  "not-sent": () => "The request could not be handed over in time. Hold the button again.",
  "no-answer": () => "The system has not answered. It may still go down.",
  "given-up": () => "The system did not answer in two minutes. Hold the button again.",
  "nothing-came": () => "The system agreed, but nothing came of it. Hold the button again.",
  "failed": (r) => `It had begun to go down and gave up${r.text ? `: ${r.text}` : ""}`,
  "no-post-halt": (r) => `The supply would stay on${r.text ? `: ${r.text}` : ""}`,
  "asked": () => "",
  "other-shutdown": () => "Asked for elsewhere",
  "alarm": (r) => `Because of: ${r.alarm || "an alarm"}`,
  "dry": () => "A trial: nothing is really switched off",
  "line-lost": (r) => `The button's line is gone${r.text ? `: ${r.text}` : ""}`,
  "line-unreadable": (r) => `The button's line is disturbed${r.rate ? `, ${r.rate} edges a second` : ""}`,
  "stuck": () => "Pressed for so long that it does not count: let it go",
};

const NOT_RUNNING = {
  "no service": "The service is stopped: the button does nothing",
  "no bus": "There is no system bus: nobody can tell",
  "no answer": "The service does not answer: nobody can tell",
};

export function reasonInWords(reason) {
  if (!reason) {
    return "";
  }
  const words = Object.hasOwn(REASONS, reason.code) && REASONS[reason.code];
  return words ? words(reason) : [`Something else (${reason.code})`, reason.text].filter(Boolean).join(": ");
}

const stageCalled = (record, name) => (record.stages || []).find((stage) => stage.name === name);

// The stage that comes after the one reached; the first, when none is.
function nextStage(record) {
  const stages = record.stages || [];
  return stages[stages.findIndex((stage) => stage.name === record.stage) + 1];
}

const thenOf = (stage) => THEN[stage.action] || `“${stage.name}”`;

// When it began and when it ends by itself; null where the end is open.
function running(record) {
  return record.until === null || record.until === undefined ? null
    : {since: record.since, until: record.until};
}

function ready(record) {
  const reached = stageCalled(record, record.stage);
  const next = nextStage(record);
  return {sign: "ready", title: "Let go now",
          detail: reached ? `then ${thenOf(reached)}` : "",
          more: next ? `or hold on: ${thenOf(next)}` : "",
          progress: next ? running(record) : null};
}

function holding(record) {
  const next = nextStage(record);
  return {sign: "holding", title: "Hold on", detail: next ? `for “${next.name}”` : "",
          more: next && THEN[next.action] ? `then ${THEN[next.action]}` : "",
          progress: running(record)};
}

function countdown(record, mayCallOff) {
  const stage = stageCalled(record, record.stage);
  return {sign: "countdown", title: (stage && DOING[stage.action]) || "Going down",
          detail: "", more: "Press the button again to call it off",
          progress: running(record), seconds: true, callOff: mayCallOff};
}

// Also shown when nobody tells anything any more: that is how the end of a shutdown looks from here.
function leaving(record) {
  const stage = stageCalled(record, record.stage);
  return {sign: "leaving", title: "Do not unplug yet", detail: (stage && DOING[stage.action]) || "Going down",
          more: record.dry ? REASONS.dry() : reasonInWords(record.reason)};
}

const CUES = {
  rest: () => ({sign: "rest", title: "", detail: ""}),
  waiting: (record) => ({sign: "waiting", title: "Wait",
                         detail: record.level === "pressed" ? "Let the button go"
                           : "until the button is at rest"}),
  holding, ready, countdown, leaving,
  refused: (record) => ({sign: "refused", title: "Not now", detail: reasonInWords(record.reason)}),
  stuck: () => ({sign: "stuck", title: "Button stuck", detail: REASONS.stuck()}),
  fault: (record) => ({sign: "fault", title: "Button fault",
                       detail: reasonInWords(record.reason)}),
};

// Small print that may stand under any cue.
function notesOf(record) {
  const notes = (record.alarms || []).filter((alarm) => alarm.due).map((alarm) => `${alarm.name}!`);
  if (record.dry) {
    notes.push("Trial run");
  }
  if (record.configuration && record.configuration.on_disk === "bad") {
    notes.push("The configuration on disk is bad");
  }
  return notes;
}

// `record` is the latest, null before there is one; `left` the latest of cue leaving, if nothing but the
// end of the stream has come since; `connected` whether anybody tells.
export function scene({record, left, connected, mayCallOff}) {
  if (left && (!connected || !record || !record.running)) {
    return {...leaving(left), notes: notesOf(left)};
  }
  if (!connected || !record || record.why === "not followed") {
    return {sign: "none", title: "Connecting", detail: "Nobody tells what the button does", notes: []};
  }
  if (!record.running) {
    return {sign: "none", title: "Not running", detail: NOT_RUNNING[record.why] || record.why || "",
            notes: []};
  }
  const known = Object.hasOwn(CUES, record.cue) && CUES[record.cue];
  const shown = known ? known(record, mayCallOff)
    : {sign: "none", title: "Something else", detail: String(record.cue)};
  return {more: "", progress: null, ...shown, notes: notesOf(record)};
}
