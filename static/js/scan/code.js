// Reading a code from what was typed or scanned, as fraginv.base.rules.codes does on the
// server, so that a wrong character is caught without the network. Nothing here touches a page.

const ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const CHECK_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const LENGTH = 7;
const LONGEST = 60;
const SEPARATORS = /[ \u00a0\t._\-\u2010-\u2014\u2212]/g;
const LOOK_ALIKES = { O: "0", I: "1", L: "1" };
const END = /^[0-9A-Z]{3}$/;

// ISO/IEC 7064:2003, hybrid system MOD 37,36.
export function checkCharacter(payload) {
  const size = CHECK_ALPHABET.length;
  let running = size;
  for (const character of payload) {
    running = (running + CHECK_ALPHABET.indexOf(character)) % size || size;
    running = (running * 2) % (size + 1);
  }
  return CHECK_ALPHABET[(1 - running + size) % size];
}

export function showCode(code) {
  return code.length === LENGTH ? `${code.slice(0, 3)}-${code.slice(3, 6)}-${code.slice(6)}` : code;
}

function lastPart(text) {
  const path = text.split("?")[0].split("#")[0].trim().replace(/\/+$/, "");
  return path.slice(path.lastIndexOf("/") + 1).trim();
}

function folded(text) {
  return text
    .replace(SEPARATORS, "")
    .replace(/[a-z]/g, (letter) => letter.toUpperCase())
    .replace(/[OIL]/g, (letter) => LOOK_ALIKES[letter]);
}

function kindOf(mark) {
  if (mark === "") {
    return "empty";
  }
  if (END.test(mark)) {
    return "end";
  }
  if (mark.length !== LENGTH || ![...mark].every((one) => ALPHABET.includes(one))) {
    return "text";
  }
  return checkCharacter(mark.slice(0, -1)) === mark.slice(-1) ? "code" : "wrong";
}

// Gives { is, mark, sent }. is says what was read: "code", "end" (its last three characters),
// "wrong" (a code with a wrong character), "text" (anything else, such as an old code) or
// "empty". mark is what the same again is known by; sent is what the server is asked for.
export function readText(text) {
  const typed = lastPart(text).slice(0, LONGEST);
  const mark = folded(typed);
  const is = kindOf(mark);
  return { is, mark, sent: is === "code" || is === "end" ? mark : typed };
}
