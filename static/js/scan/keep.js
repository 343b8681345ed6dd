// Scans that wait on this phone until the server has them: each under a key of its own in
// the browser's storage, so that two tabs can add and remove at once without losing one.
// Kept are codes, what is to be done, the person's number and the moment; nothing private.

const PREFIX = "scan ";
const PARTS = ["key", "person", "act", "code", "at", "rack", "cause", "size", "settle"];
const MORE = ["row", "column", "loss"];

function nameOf(key) {
  return `${PREFIX}${key}`;
}

function plain(scan) {
  const parts = [...PARTS, ...MORE].filter((part) => scan[part] !== undefined);
  return Object.fromEntries(parts.map((part) => [part, scan[part]]));
}

function parsed(text) {
  try {
    const scan = JSON.parse(text);
    return scan?.key && scan.act && Number.isFinite(scan.at) ? plain(scan) : null;
  } catch {
    return null;
  }
}

// Keep a scan, or its new state; false where this browser keeps nothing.
export function keep(scan) {
  const name = nameOf(scan.key);
  try {
    localStorage.setItem(name, JSON.stringify(plain(scan)));
    return true;
  } catch {
    return false;
  }
}

export function forget(key) {
  try {
    localStorage.removeItem(nameOf(key));
  } catch {
    // A browser that keeps nothing has nothing to forget.
  }
}

// All that waits on this phone, whoever scanned it.
export function all() {
  try {
    const names = Object.keys(localStorage).filter((name) => name.startsWith(PREFIX));
    return names.map((name) => parsed(localStorage.getItem(name))).filter(Boolean);
  } catch {
    return [];
  }
}

export function isOurs(event) {
  return event.key === null || event.key.startsWith(PREFIX);
}
