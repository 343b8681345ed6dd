// Answers while one types into the field that finds: a combobox with a list, as the WAI-ARIA
// Authoring Practices describe it. Focus stays in the field; arrows choose, Enter opens,
// Escape closes. Without this the field is a form that leads to the page of answers.
//
// data-find         on the form: where answers come from
// data-find-said    where it is said how many there are
// data-find-to      on an answer: where it leads

const PAUSE_MS = 160;
const LEAST = 2;

const form = document.querySelector("[data-find]");

function start() {
  const input = form.querySelector("input[name=q]");
  const list = form.querySelector("[role=listbox]");
  const said = form.querySelector("[data-find-said]");
  let chosen = -1;
  let waiting = 0;
  let asking = null;

  // A search field may not be a combobox; a field of text may, and looks alike here.
  input.type = "text";
  input.setAttribute("role", "combobox");
  input.setAttribute("aria-autocomplete", "list");
  input.setAttribute("aria-controls", list.id);
  input.setAttribute("aria-expanded", "false");

  const answers = () => [...list.children];

  function choose(place) {
    const all = answers();
    chosen = all.length === 0 ? -1 : (place + all.length) % all.length;
    all.forEach((one, at) => one.setAttribute("aria-selected", String(at === chosen)));
    if (chosen < 0) {
      input.removeAttribute("aria-activedescendant");
      return;
    }
    input.setAttribute("aria-activedescendant", all[chosen].id);
    all[chosen].scrollIntoView({ block: "nearest" });
  }

  function unchoose() {
    chosen = -1;
    answers().forEach((one) => one.setAttribute("aria-selected", "false"));
    input.removeAttribute("aria-activedescendant");
  }

  function show(open) {
    const any = open && answers().length > 0;
    list.hidden = !any;
    input.setAttribute("aria-expanded", String(any));
    if (!any) {
      unchoose();
    }
  }

  function forget() {
    clearTimeout(waiting);
    asking?.abort();
    list.replaceChildren();
    said.textContent = "";
    show(false);
  }

  function take(text) {
    const found = new DOMParser().parseFromString(text, "text/html").querySelector("[data-find-list]");
    if (!found) {
      forget();
      return;
    }
    list.replaceChildren(...found.children);
    said.textContent = found.dataset.findCount;
    unchoose();
    show(document.activeElement === input);
  }

  async function ask() {
    asking?.abort();
    const mine = (asking = new AbortController());
    const address = `${form.dataset.find}?${new URLSearchParams({ q: input.value })}`;
    try {
      const answer = await fetch(address, { signal: mine.signal, redirect: "error" });
      const text = answer.ok ? await answer.text() : "";
      if (mine === asking && !mine.signal.aborted) {
        take(text);
      }
    } catch {
      // Typed on, or no network: Enter still leads to the page of answers.
      if (mine === asking && !mine.signal.aborted) {
        forget();
      }
    }
  }

  input.addEventListener("input", () => {
    clearTimeout(waiting);
    if (input.value.trim().length < LEAST) {
      forget();
      return;
    }
    waiting = setTimeout(ask, PAUSE_MS);
  });

  input.addEventListener("keydown", (event) => {
    const open = !list.hidden;
    if (event.isComposing) {
      return;
    }
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (answers().length > 0) {
        event.preventDefault();
        const step = event.key === "ArrowDown" ? 1 : -1;
        show(true);
        choose(chosen < 0 && step < 0 ? -1 : chosen + step);
      }
    } else if (event.key === "Enter" && open && chosen >= 0) {
      event.preventDefault();
      location.assign(answers()[chosen].dataset.findTo);
    } else if (event.key === "Escape") {
      event.preventDefault();
      if (open) {
        show(false);
      } else {
        input.value = "";
        forget();
      }
    } else if (event.key === "Tab") {
      show(false);
    }
  });

  form.addEventListener("submit", () => forget());
  input.addEventListener("focus", () => show(true));
  input.addEventListener("blur", () => show(false));

  // A press must not take the focus out of the field, or the list would close before the click.
  list.addEventListener("pointerdown", (event) => event.preventDefault());
  list.addEventListener("mousedown", (event) => event.preventDefault());
  list.addEventListener("click", (event) => {
    const one = event.target.closest("[data-find-to]");
    if (one) {
      location.assign(one.dataset.findTo);
    }
  });
  window.addEventListener("pageshow", (event) => event.persisted && forget());
}

if (form) {
  start();
}
