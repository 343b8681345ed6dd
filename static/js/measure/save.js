// Saving what was drawn: sent by script, so that nothing is lost where there is no network.

import { keyring, post, wrong } from "./send.js";

const round = (points) => points.map((point) => point.map((value) => Math.round(value * 1000) / 1000));

export function makeSaving({ desk, model, isMeasured }) {
  const { form, facts, part, tell } = desk;
  const keyed = keyring();
  const state = { isBusy: false, isDone: false, sure: "", present: facts.present };
  const face = [...part("save").childNodes];

  function fields() {
    const sent = {
      ...desk.sent(model.ends),
      outline: JSON.stringify(round(model.handles)),
      heads: JSON.stringify(round(model.heads)),
      by: model.by,
      present: state.present,
    };
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
    const answer = await post(facts.save_url, keyed(fields()), desk.token());
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
    if (model.handles.length && !isMeasured() && !model.heads.length) {
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
    part("picture").focus();
  });
  window.addEventListener("beforeunload", (event) => {
    if (model.isChanged && !state.isDone) {
      event.preventDefault();
    }
  });
}
