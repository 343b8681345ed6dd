// On a shared phone whoever signs out sends first what waits, or throws it away knowing so;
// what others scanned stays for them. What was scanned lately is forgotten in any case.
// Stands on every page with a way out.
//
// data-leaves   a form that ends the visit, with the number of the person who goes

import { forgetAll } from "../photos/scanned.js";
import { all, forget } from "./keep.js";

function waitingOf(form) {
  return all().filter((scan) => scan.person === Number(form.dataset.leaves));
}

function question(count) {
  return count === 1
    ? "1 scan waits on this phone and was not sent. Sign out and throw it away?"
    : `${count} scans wait on this phone and were not sent. Sign out and throw them away?`;
}

// Before the press becomes a submit, so that confirm.js finds the question.
document.addEventListener(
  "click",
  (event) => {
    const form = event.target.closest?.("[data-leaves] [type=submit]")?.form;
    if (!form) {
      return;
    }
    form.dataset.asks ??= form.dataset.confirm ?? "";
    const count = waitingOf(form).length;
    form.dataset.confirm = [count ? question(count) : "", form.dataset.asks].join(" ").trim();
    form.dataset.confirmYes = "Sign out";
  },
  { capture: true },
);

document.addEventListener("submit", (event) => {
  if (event.target.dataset?.leaves && !event.defaultPrevented) {
    for (const scan of waitingOf(event.target)) {
      forget(scan.key);
    }
    forgetAll();
  }
});
