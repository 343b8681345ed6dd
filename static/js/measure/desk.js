// What the page that measures has: its parts, what the server told, and what a person set.

import { viewByHand } from "./view.js";

export function makeDesk(root) {
  const facts = JSON.parse(root.dataset.measure);
  const part = (name) => root.querySelector(`[data-measure-${name}]`);
  const form = part("form");
  const number = (field) => {
    const text = field.value.trim().replace(",", ".");
    return text === "" || !field.validity.valid ? NaN : Number(text);
  };

  function tell(text, isWrong = false) {
    part("said").textContent = text;
    part("said-box").classList.toggle("notice--wrong", isWrong);
    part("said-box").hidden = !text;
  }

  function problems(list) {
    const rows = list.map(({ text }) => Object.assign(document.createElement("li"), { textContent: text }));
    part("problems").replaceChildren(...rows);
    part("problems-box").hidden = !list.length;
    // They may lie below what is seen.
    part("check").textContent = list.length === 1 ? "1 thing to check" : `${list.length} things to check`;
    part("check").hidden = !list.length;
  }

  return {
    root,
    facts,
    form,
    part,
    tell,
    problems,
    token: () => form.elements.csrfmiddlewaretoken.value,
    height: () => number(form.elements.height_mm),
    throughWater: () => form.elements.through_water.checked,
    // The photo's own view, else that of a length which was set by hand; null where neither is.
    view(ends) {
      const isSet = ends.length > 1;
      return facts.view ?? (isSet ? viewByHand(ends, number(form.elements.length_mm), facts.lens) : null);
    },
    // Height, water and a scale set by hand, as they are sent.
    sent(ends) {
      const fields = { height_mm: form.elements.height_mm.value };
      if (form.elements.through_water.checked) {
        fields.through_water = "on";
      }
      if (!facts.view && ends.length > 1) {
        fields.ends = JSON.stringify(ends);
        fields.length_mm = form.elements.length_mm.value;
      }
      return fields;
    },
  };
}
