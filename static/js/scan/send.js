// Sending one scan, looking one code up, and having a frame read; each gives { status, body },
// status 0 where nothing came back. body is null unless the answer is one of ours.

const PATIENCE_MS = 15000;

async function ask(url, options) {
  const limit = new AbortController();
  const timer = setTimeout(() => limit.abort(), PATIENCE_MS);
  try {
    const headers = { Accept: "application/json", ...options?.headers };
    const answer = await fetch(url, { ...options, headers, signal: limit.signal });
    const isOurs = answer.headers.get("Content-Type")?.startsWith("application/json");
    return { status: answer.status, body: isOurs ? await answer.json() : null };
  } catch {
    return { status: 0, body: null };
  } finally {
    clearTimeout(timer);
  }
}

// The same scan always has the same fields, so that the server knows it again.
export function sendScan(url, scan, token) {
  const { key, person, code, at, ...rest } = scan;
  const chosen = ["rack", "cause", "size", "row", "column", "loss"];
  const fields = new URLSearchParams({ replay_key: key, person, code });
  fields.set("at", new Date(at).toISOString());
  for (const name of chosen.filter((one) => rest[one] !== undefined)) {
    fields.set(name, rest[name]);
  }
  return ask(url, { method: "POST", body: fields, headers: { "X-CSRFToken": token } });
}

export function lookUp(url, code) {
  return ask(`${url}?${new URLSearchParams({ code })}`);
}

export function readFrame(url, picture, token) {
  const headers = { "Content-Type": "image/jpeg", "X-CSRFToken": token };
  return ask(url, { method: "POST", body: picture, headers });
}

// randomUUID is for secure pages alone; a house without HTTPS makes its keys by hand.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const cuts = [0, 8, 12, 16, 20, 32];
  return cuts.slice(1).map((end, place) => hex.slice(cuts[place], end)).join("-");
}
