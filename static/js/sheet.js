// What a link leads to is shown in a sheet over the page: data-sheet on the link, and
// data-sheet-content on the part of the other page that is shown. Without this, or without
// an answer, the link leads there.

let open = null;

function close() {
  open?.close();
}

function show(content, opener) {
  const dialog = document.createElement("dialog");
  dialog.className = "dialog sheet";
  const title = document.createElement("h2");
  title.id = "sheet-title";
  title.textContent = content.title;
  dialog.setAttribute("aria-labelledby", title.id);
  const shut = document.createElement("button");
  shut.type = "button";
  shut.className = "button sheet__shut";
  shut.textContent = "Close";
  shut.addEventListener("click", close);
  const head = document.createElement("div");
  head.className = "sheet__head";
  head.append(title, shut);
  dialog.append(head, document.importNode(content.part, true));
  dialog.addEventListener("click", (event) => event.target === dialog && close());
  dialog.addEventListener("close", () => {
    dialog.remove();
    open = null;
    opener.focus();
  });
  document.body.append(dialog);
  open = dialog;
  dialog.showModal();
}

async function fetched(address) {
  const answer = await fetch(address, { redirect: "error" });
  if (!answer.ok) {
    return null;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const part = page.querySelector("[data-sheet-content]");
  return part && { part, title: page.querySelector("h1")?.textContent ?? "" };
}

document.addEventListener("click", async (event) => {
  const link = event.target.closest("a[data-sheet]");
  if (!link || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) {
    return;
  }
  event.preventDefault();
  link.setAttribute("aria-busy", "true");
  const content = await fetched(link.href).catch(() => null);
  link.removeAttribute("aria-busy");
  if (content && !open) {
    show(content, link);
  } else if (!content) {
    location.assign(link.href);
  }
});
