// Sending one picture, and what the answer means.

const PATIENCE_MS = 10 * 60 * 1000;

function parsed(request) {
  const isOurs = request.getResponseHeader("Content-Type")?.startsWith("application/json");
  try {
    return isOurs ? JSON.parse(request.responseText) : null;
  } catch {
    return null;
  }
}

// Gives { status, body, url }, status 0 where nothing came back, url the page that answered in
// the end; moved(part) hears how much is sent; name is that of the field with the picture.
export function sendShot(url, { fields, file, token, moved, name: field = "pictures" }) {
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.open("POST", url);
    request.timeout = PATIENCE_MS;
    request.setRequestHeader("Accept", "application/json");
    request.setRequestHeader("X-CSRFToken", token);
    request.upload.addEventListener("progress", ({ loaded, total }) => moved(total ? loaded / total : 0));
    request.addEventListener("load", () => {
      resolve({ status: request.status, body: parsed(request), url: request.responseURL });
    });
    for (const name of ["error", "timeout", "abort"]) {
      request.addEventListener(name, () => resolve({ status: 0, body: null }));
    }
    const form = new FormData();
    for (const [name, value] of Object.entries(fields)) {
      form.set(name, value);
    }
    form.set(field, file, file.name);
    request.send(form);
  });
}

// "in" (the server has it), "refused", "stopped" (this page cannot go on) or "unreached".
export function judge({ status, body }) {
  if (status === 200 && body?.ok) {
    return body.state === "refused" ? "refused" : "in";
  }
  // Who is signed out is led to the door, which is a page.
  if (status === 401 || (!body && (status === 200 || status === 403))) {
    return "stopped";
  }
  return body?.code && status >= 400 && status < 500 && status !== 429 ? "refused" : "unreached";
}
