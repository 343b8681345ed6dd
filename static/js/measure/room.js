// Making room on a short screen, where the bar would lie over the tools.

const NARROW = "(max-width: 899.98px)";
// By so much the bar grows once it tells a size.
const BAR_GROWS_PX = 48;

// Bring the hint to the top, and with it the photo and all tools into sight.
export function makeRoom(part) {
  const tools = part("mode").getBoundingClientRect().bottom;
  const bar = part("save").closest(".bar").getBoundingClientRect().top;
  if (window.matchMedia(NARROW).matches && tools > bar - BAR_GROWS_PX) {
    part("hint").scrollIntoView({ behavior: "instant", block: "start" });
  }
}
