// Saving what was drawn: sent by script, so that nothing is lost where there is no network.

import { keyring, post, wrong } from "./send.js";

const round = (points) => points.map((point) => point.map((value) => Math.round(value * 1000) / 1000));

export function makeSaving({ root, form, model, facts, tell, hand, part, measured }) {
  const keyed = keyring();
  const state = { isBusy: false, isDone: false, sure: "", present: facts.present };
  const face = [...part("save").childNodes];

  function fields() {
    const sent = {
      outline: JSON.stringify(round(model.handles)),
      heads: JSON.stringify(round(model.heads)),
      by: model.by,
      height_mm: form.elements.height_mm.value,
      present: state.present,
      ...hand(),
    };
    if (form.elements.through_water.checked) {
      sent.through_water = "on";
    }
    return state.sure ? { ...sent, sure: state.sure } : sent;
  }

  function rest(isBusy) {
    state.isBusy = isBusy;
    part("save").toggleAttribute("aria-busy", isBusy);
    part("save").replaceChildren(...(isBusy ? [form.dataset.busy] : face));
  }

  // A doubt is asked, not refused: look again, or save it as it is.
  function ask(body) {
    part("doubt-words").textContent = body.message;
    part("doubt").hidden = false;
    part("doubt-yes").dataset.sure = body.doubt;
    part("doubt-no").focus();
  }

  async function save() {
    if (state.isBusy) {
      return;
    }
    part("doubt").hidden = true;
    rest(true);
    const answer = await post(facts.save_url, keyed(fields()), form.elements.csrfmiddlewaretoken.value);
    rest(false);
    const error = wrong(answer);
    if (!error) {
      state.isDone = true;
      location.assign(answer.body.url);
      return;
    }
    state.present = answer.body?.present ?? state.present;
    if (answer.body?.doubt) {
      ask(answer.body);
    } else {
      tell(error, true);
    }
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (model.handles.length && !measured() && !model.heads.length) {
      tell(facts.words.unsized, true);
      return;
    }
    save();
  });
  part("doubt-yes").addEventListener("click", ({ currentTarget }) => {
    state.sure = currentTarget.dataset.sure;
    save();
  });
  part("doubt-no").addEventListener("click", () => {
    part("doubt").hidden = true;
    root.querySelector("[data-measure-picture]").focus();
  });
  window.addEventListener("beforeunload", (event) => {
    if (model.isChanged && !state.isDone) {
      event.preventDefault();
    }
  });
}
