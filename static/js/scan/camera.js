// The phone's camera: opening it, and reading codes from what it sees, by the browser's own
// detector where there is one, else by the server, which is sent small grey pictures one
// after the other. Nothing of what it sees is kept.

const FRAME = 640;
const QUALITY = 0.7;
const DETECT_EVERY_MS = 120;
const ASK_EVERY_MS = 280;
const REST_WITHOUT_NETWORK_MS = 3000;
const WANTED = {
  video: { facingMode: { ideal: "environment" }, width: { ideal: 1280 }, height: { ideal: 960 } },
  audio: false,
};
const TROUBLES = {
  NotAllowedError: "refused",
  SecurityError: "refused",
  NotFoundError: "none",
  OverconstrainedError: "none",
  NotReadableError: "busy",
  AbortError: "busy",
};

// What is in the way before anything was tried: "insecure", "old", or nothing.
export function obstacle() {
  if (!window.isSecureContext) {
    return "insecure";
  }
  return navigator.mediaDevices?.getUserMedia ? "" : "old";
}

export function troubleOf(error) {
  return TROUBLES[error.name] ?? "other";
}

export async function open(video) {
  const stream = await navigator.mediaDevices.getUserMedia(WANTED);
  video.srcObject = stream;
  await video.play();
  return stream.getVideoTracks()[0];
}

export function close(video) {
  for (const track of video.srcObject?.getTracks() ?? []) {
    track.stop();
  }
  video.srcObject = null;
}

export function hasLight(track) {
  return Boolean(track.getCapabilities?.().torch);
}

export function light(track, on) {
  return track.applyConstraints({ advanced: [{ torch: on }] }).catch(() => {});
}

export async function ownDetector() {
  try {
    const formats = await window.BarcodeDetector?.getSupportedFormats();
    return formats?.includes("qr_code") ? new window.BarcodeDetector({ formats: ["qr_code"] }) : null;
  } catch {
    return null;
  }
}

function pause(ms) {
  return new Promise((resolve) => {
    setTimeout(resolve, ms);
  });
}

function greyed(pixels) {
  for (let place = 0; place < pixels.length; place += 4) {
    // ITU-R BT.601, as JPEG weighs red, green and blue.
    const grey = 0.299 * pixels[place] + 0.587 * pixels[place + 1] + 0.114 * pixels[place + 2];
    pixels.fill(grey, place, place + 3);
  }
}

function frameOf(video, canvas) {
  const scale = Math.min(1, FRAME / Math.max(video.videoWidth, video.videoHeight));
  canvas.width = Math.round(video.videoWidth * scale);
  canvas.height = Math.round(video.videoHeight * scale);
  const drawn = canvas.getContext("2d", { willReadFrequently: true });
  drawn.drawImage(video, 0, 0, canvas.width, canvas.height);
  const picture = drawn.getImageData(0, 0, canvas.width, canvas.height);
  greyed(picture.data);
  drawn.putImageData(picture, 0, 0);
  return new Promise((resolve) => {
    canvas.toBlob(resolve, "image/jpeg", QUALITY);
  });
}

// Read until stillOn() says no. told(texts) hears what was seen; ask(picture) has the server
// read one and gives its texts, or null where it was not reached; told(null) passes that on.
export async function watch(video, { detector, ask, told, stillOn }) {
  const canvas = document.createElement("canvas");
  while (stillOn()) {
    if (!video.videoWidth) {
      await pause(DETECT_EVERY_MS);
    } else if (detector) {
      const found = await detector.detect(video).catch(() => []);
      told(found.map((one) => one.rawValue));
      await pause(DETECT_EVERY_MS);
    } else {
      const picture = await frameOf(video, canvas);
      const texts = picture ? await ask(picture) : [];
      if (stillOn()) {
        told(texts);
      }
      await pause(texts ? ASK_EVERY_MS : REST_WITHOUT_NETWORK_MS);
    }
  }
}
