// What the answers to scans mean.

// A scan that is answered within this time is still in the hand of whoever made it.
const IN_HAND_MS = 10000;
const MISREAD = ["input", "code", "not_found", "several"];

// What an answer means: "done", "refused", "stopped" (this page cannot go on as it is) or
// "unreached" (the same is sent again later).
export function judge(status, body) {
  if (status === 200 && body?.ok) {
    return "done";
  }
  if (status === 401 || body?.code === "other_person" || (status === 403 && !body)) {
    return "stopped";
  }
  const final = body?.code && status >= 400 && status < 500 && status !== 429;
  return final ? "refused" : "unreached";
}

// Tell whether a refused scan was misread or mistyped just now: it is simply scanned again,
// and nothing is left to settle.
export function isMisread(body, passedMs) {
  return MISREAD.includes(body.code) && Math.abs(passedMs) < IN_HAND_MS;
}
