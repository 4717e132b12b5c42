// SPDX-License-Identifier: MIT
// Follows the button in Node.js, with nothing but `nightlatch follow --json`: node follow.js
"use strict";

const {spawn} = require("node:child_process");
const readline = require("node:readline");

function inWords(record) {
  if (record.announced !== undefined) {
    return `announced: ${record.announced}`;
  }
  if (!record.running) {
    return `not running: ${record.why}`;
  }
  const stage = record.stage ? ` "${record.stage}"` : "";
  // A code that this program does not know is "something else": say it as it is.
  const why = record.reason ? ` (${record.reason.code}: ${record.reason.why || record.reason.text || ""})` : "";
  // By the service's own clock, which process.hrtime() reads too: CLOCK_MONOTONIC.
  const left = record.until === null ? ""
    : `, ${Math.max(record.until / 1e6 - Number(process.hrtime.bigint()) / 1e9, 0).toFixed(1)} s left`;
  return `${record.cue}${stage}${left}${why}`;
}

const tool = spawn("nightlatch", ["follow", "--json"], {stdio: ["ignore", "pipe", "inherit"]});
tool.on("error", (error) => {
  console.error(`cannot start nightlatch: ${error.message}`);
  process.exitCode = 1;
});
readline.createInterface({input: tool.stdout}).on("line", (line) => console.log(inWords(JSON.parse(line))));
process.on("SIGTERM", () => tool.kill());
