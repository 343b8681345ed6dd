// What is heard and felt: one high tone and a short buzz for what was read, two low tones
// and a double buzz for what was refused. Browsers let a page sound only after a tap.

const TONES = {
  good: { hertz: [1320], buzz: [60] },
  rack: { hertz: [880, 1320], buzz: [60, 40, 60] },
  bad: { hertz: [220, 180], buzz: [120, 80, 120] },
};
const TONE_S = 0.11;
const LOUDNESS = 0.25;

let context = null;

function wake() {
  if (context === null && window.AudioContext) {
    context = new AudioContext();
  }
  if (context?.state === "suspended") {
    context.resume().catch(() => {});
  }
}

export function wakeAtFirstTap() {
  document.addEventListener("pointerdown", wake);
  document.addEventListener("keydown", wake);
}

function beep(hertz, start) {
  const tone = context.createOscillator();
  const loudness = context.createGain();
  tone.frequency.value = hertz;
  loudness.gain.setValueAtTime(LOUDNESS, start);
  loudness.gain.exponentialRampToValueAtTime(0.001, start + TONE_S);
  tone.connect(loudness).connect(context.destination);
  tone.start(start);
  tone.stop(start + TONE_S);
}

export function sound(name) {
  const { hertz, buzz } = TONES[name];
  navigator.vibrate?.(buzz);
  if (context?.state === "running") {
    hertz.forEach((one, place) => beep(one, context.currentTime + place * (TONE_S + 0.03)));
  }
}
