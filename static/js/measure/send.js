// Asking the server for an outline, and giving it what was drawn; each answers with
// { status, body }, status 0 where nothing came back.

import { newKey } from "../scan/send.js";

const PATIENCE_MS = 30000;

export const WORDS = {
  0: "No answer: there is no network here. What is drawn stays; try again when there is.",
  401: "Sign in again in another tab, then try again here. What is drawn stays.",
  500: "Something broke at our end. What is drawn stays; try again in a minute.",
};

// What went wrong with an answer, in words; empty where nothing did.
export function wrong({ status, body }) {
  if (status >= 200 && status < 300 && body) {
    return "";
  }
  return WORDS[status] ?? body?.message ?? WORDS[500];
}

export async function post(url, fields, token) {
  const limit = new AbortController();
  const timer = setTimeout(() => limit.abort(), PATIENCE_MS);
  try {
    const answer = await fetch(url, {
      method: "POST",
      body: new URLSearchParams(fields),
      headers: { Accept: "application/json", "X-CSRFToken": token },
      signal: limit.signal,
    });
    const isOurs = answer.headers.get("Content-Type")?.startsWith("application/json");
    return { status: answer.status, body: isOurs ? await answer.json() : null };
  } catch {
    return { status: 0, body: null };
  } finally {
    clearTimeout(timer);
  }
}

// The same content goes under the same key, so that it is saved once however often it is sent;
// changed content needs another.
export function keyring() {
  let [key, content] = ["", ""];
  return (fields) => {
    const now = JSON.stringify(fields);
    if (now !== content) {
      [key, content] = [newKey(), now];
    }
    return { ...fields, replay_key: key };
  };
}
