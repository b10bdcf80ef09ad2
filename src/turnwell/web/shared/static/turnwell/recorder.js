// Records a run in the browser and sends it; sends files with their progress. Every sentence stands
// in the page: this script only chooses which of them shows.

const LONGEST_S = 120;
const SHORTEST_S = 0.5;
const CUT_S = 0.15;
const QUIET = 0.01;
const LOUD = 0.985;
const ANSWER_MS = 150000;
const STATES = {
  NotAllowedError: "refused", SecurityError: "refused", NotFoundError: "nomicrophone",
};

for (const root of document.querySelectorAll("[data-recorder]")) begin(root);

function begin(root) {
  if (root.dataset.begun) return;
  root.dataset.begun = "yes";
  fileForm(root);
  const take = root.querySelector("[data-take]");
  if (!take) return;
  const hasMicrophones = window.isSecureContext && navigator.mediaDevices?.getUserMedia;
  if (!hasMicrophones || !window.AudioWorkletNode) {
    root.querySelector("[data-unable]").hidden = false;
    return;
  }
  const bench = { root, take, state: "", recording: null, made: null };
  take.addEventListener("click", (event) => {
    const act = event.target.closest("[data-act]")?.dataset.act;
    if (act === "record") record(bench);
    if (act === "stop") stop(bench);
    if (act === "send") sendTake(bench);
    if (act === "save") bench.isSaved = true;
  });
  addEventListener("beforeunload", (event) => {
    const isUnsent = ["recording", "sending"].includes(bench.state)
      || (bench.state === "failed" && !bench.isSaved);
    if (isUnsent) event.preventDefault();
  });
  show(bench, "ready");
  take.hidden = false;
}

function show(bench, state, reason = "") {
  // A button that goes takes the focus with it; the one that comes in its place gets it back.
  const focused = document.activeElement;
  bench.hasFocus = bench.take.contains(focused) || (bench.hasFocus && focused === document.body);
  bench.state = state;
  bench.root.dataset.state = state;
  for (const part of bench.take.querySelectorAll("[data-when]")) {
    part.hidden = !part.dataset.when.split(" ").includes(state);
    const place = part.querySelector("[data-reason]");
    if (place) place.textContent = part.hidden ? "" : reason;
  }
  const next = state === "answered" ? bench.root.querySelector("[data-answer]")
    : bench.take.querySelector("[data-act]:not([hidden])");
  if (bench.hasFocus) next?.focus({ preventScroll: true });
}

// ── recording ────────────────────────────────────────────────────────────

async function record(bench) {
  show(bench, "asking");
  showTime(bench, 0);
  showLevel(bench, "waiting", 0);
  bench.root.querySelector("[data-answer]").replaceChildren();
  footAsItWas();
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
    });
  } catch (error) {
    show(bench, STATES[error.name] || "broken", error.message);
    return;
  }
  try {
    bench.recording = await listenTo(bench, stream);
    show(bench, "recording");
  } catch (error) {
    for (const track of stream.getTracks()) track.stop();
    show(bench, "broken", error.message);
  }
}

async function listenTo(bench, stream) {
  const track = stream.getAudioTracks()[0];
  const settings = track.getSettings();
  const context = contextAt(settings.sampleRate);
  await context.audioWorklet.addModule(bench.root.dataset.worklet);
  const node = new AudioWorkletNode(context, "take", { channelInterpretation: "discrete" });
  const silence = new GainNode(context, { gain: 0 });
  const source = context.createMediaStreamSource(stream);
  const recording = {
    context, node, settings, stream, chunks: [], frames: 0, lost: 0,
    cut: Math.round(CUT_S * context.sampleRate), over: null,
  };
  recording.over = new Promise((resolve) => {
    node.port.onmessage = ({ data }) => {
      if (data.samples) heard(bench, recording, data.samples);
      else {
        recording.lost = data.lost;
        resolve();
      }
    };
  });
  source.connect(node).connect(silence).connect(context.destination);
  await context.resume();
  track.addEventListener("ended", () => stop(bench));
  return recording;
}

// The microphone's own rate where the browser takes it: another adds no sound, only samples.
function contextAt(rate) {
  try {
    return new AudioContext(rate ? { sampleRate: rate } : {});
  } catch {
    return new AudioContext();
  }
}

function heard(bench, recording, samples) {
  const skipped = Math.min(recording.cut, samples.length);
  recording.cut -= skipped;
  if (skipped === samples.length) return;
  const kept = skipped ? samples.subarray(skipped) : samples;
  recording.chunks.push(kept);
  recording.frames += kept.length;
  const seconds = recording.frames / recording.context.sampleRate;
  judge(bench, recording, kept, seconds);
  if (seconds >= LONGEST_S) stop(bench);
}

function judge(bench, recording, samples, seconds) {
  let peak = 0;
  for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
  recording.peak = Math.max(peak, 0.9 * (recording.peak || 0));
  if (peak >= LOUD) recording.loudUntil = seconds + 2;
  let hint = recording.peak < QUIET ? "quiet" : "good";
  if (seconds < 1 && hint === "quiet") hint = "waiting";
  if (seconds < (recording.loudUntil || 0)) hint = "loud";
  // From -60 dB at the left to full scale at the right.
  showLevel(bench, hint, Math.max(0, Math.min(1, 1 + Math.log10(recording.peak + 1e-9) / 3)));
  showTime(bench, Math.floor(seconds));
}

function showLevel(bench, hint, share) {
  for (const part of bench.take.querySelectorAll("[data-hint]")) {
    part.hidden = part.dataset.hint !== hint;
  }
  bench.take.querySelector("[data-level]").setAttribute("width", `${(100 * share).toFixed(1)}%`);
}

function showTime(bench, seconds) {
  const clock = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  bench.take.querySelector("[data-clock]").textContent = clock;
}

async function stop(bench) {
  const recording = bench.recording;
  if (!recording) return;
  bench.recording = null;
  recording.node.port.postMessage("stop");
  await Promise.race([recording.over, new Promise((resolve) => setTimeout(resolve, 1000))]);
  for (const track of recording.stream.getTracks()) track.stop();
  await recording.context.close();
  const rate = recording.context.sampleRate;
  if (recording.frames < SHORTEST_S * rate) {
    show(bench, "tooshort");
    return;
  }
  bench.made = {
    wav: wav(recording.chunks, recording.frames, rate),
    settings: JSON.stringify({
      ...recording.settings, deviceId: undefined, groupId: undefined, contextRate: rate,
      lostFrames: recording.lost, cutSeconds: CUT_S, userAgent: navigator.userAgent,
    }),
  };
  bench.isSaved = false;
  sendTake(bench);
}

// 24-bit WAV of one channel.
function wav(chunks, frames, rate) {
  const bytes = new DataView(new ArrayBuffer(44 + 3 * frames));
  const text = (at, word) => [...word].forEach((c, i) => bytes.setUint8(at + i, c.charCodeAt(0)));
  text(0, "RIFF");
  bytes.setUint32(4, 36 + 3 * frames, true);
  text(8, "WAVEfmt ");
  bytes.setUint32(16, 16, true);
  bytes.setUint16(20, 1, true);
  bytes.setUint16(22, 1, true);
  bytes.setUint32(24, rate, true);
  bytes.setUint32(28, 3 * rate, true);
  bytes.setUint16(32, 3, true);
  bytes.setUint16(34, 24, true);
  text(36, "data");
  bytes.setUint32(40, 3 * frames, true);
  let at = 44;
  for (const chunk of chunks) {
    for (const sample of chunk) {
      const whole = Math.round(Math.max(-1, Math.min(1, sample)) * 8388607);
      bytes.setUint16(at, whole & 0xffff, true);
      bytes.setInt8(at + 2, whole >> 16);
      at += 3;
    }
  }
  return new Blob([bytes.buffer], { type: "audio/wav" });
}

// ── sending ──────────────────────────────────────────────────────────────

async function sendTake(bench) {
  const form = bench.root.querySelector("[data-file-form]");
  const name = `run-${new Date().toISOString().slice(0, 19).replaceAll(":", "-")}.wav`;
  const sent = new FormData();
  sent.set("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
  sent.set("source", "browser");
  sent.set("settings", bench.made.settings);
  sent.set("file", bench.made.wav, name);
  const progress = bench.take.querySelector("[data-progress]");
  progress.textContent = "";
  show(bench, "sending");
  try {
    const answer = await send(form.action, sent, (share) => {
      progress.textContent = `, ${Math.floor(100 * share)} %`;
      if (share === 1) show(bench, "analysing");
    });
    bench.made = null;
    put(bench.root, answer);
    show(bench, "answered");
  } catch (error) {
    const save = bench.take.querySelector("[data-act=save]");
    URL.revokeObjectURL(save.href);
    save.href = URL.createObjectURL(bench.made.wav);
    save.download = name;
    show(bench, error.isFinal ? "turneddown" : "failed", error.message);
  }
}

// What the server says no to for good is final; anything else may be sent again.
function send(address, form, onProgress) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    const fail = (says, isFinal = false) => reject(Object.assign(new Error(says), { isFinal }));
    request.open("POST", address);
    request.setRequestHeader("X-Part", "answer");
    request.timeout = ANSWER_MS;
    request.upload.onprogress = (event) => {
      if (event.lengthComputable) onProgress(event.loaded / event.total);
    };
    request.onload = () => {
      const { status, responseText } = request;
      if (status === 201) resolve(responseText);
      else if (status === 422) fail(JSON.parse(responseText).says, true);
      else if (status === 503) fail(JSON.parse(responseText).says);
      else if (status === 413) fail("It is larger than the server takes; send less.", true);
      else if (status === 200 || status === 403) fail("You are signed out: sign in in another tab.");
      else fail(`The server could not take it (${status}).`);
    };
    request.onerror = () => fail("The connection to the server broke.");
    request.ontimeout = () => fail("The server did not answer in time.");
    request.send(form);
  });
}

function put(root, answer) {
  const place = root.querySelector("[data-answer]");
  place.innerHTML = answer;
  // Scripts that come in as text do not run; the chart's is asked for by name.
  for (const script of place.querySelectorAll("script[src]")) {
    const again = document.createElement("script");
    again.type = "module";
    again.src = script.src;
    script.replaceWith(again);
  }
  // The other forms of the page were about the job before this recording.
  const version = place.querySelector("[data-version]")?.dataset.version;
  for (const field of document.querySelectorAll("input[name=version]")) field.value = version;
  footGoesOn(place);
  place.scrollIntoView({ block: "nearest" });
}

// One main thing to do on a page: after an answer it is to go on with the job, so the line at the
// foot, where there is one, takes that button over until the next take.
let footBefore = null;

function footGoesOn(place) {
  const foot = document.querySelector(".actionline__in");
  const goOn = place.querySelector(".recorder__links .button");
  if (!foot || !goOn) return;
  footBefore ??= [...foot.childNodes];
  const says = document.createElement("p");
  says.textContent = "Recorded; what it tells stands above.";
  foot.replaceChildren(says, goOn);
}

function footAsItWas() {
  if (footBefore) document.querySelector(".actionline__in").replaceChildren(...footBefore);
  footBefore = null;
}

// ── files ────────────────────────────────────────────────────────────────

function fileForm(root) {
  const form = root.querySelector("[data-file-form]");
  const says = form.querySelector("[data-file-says]");
  const sendFile = async (file) => {
    const sent = new FormData(form);
    sent.set("file", file, file.name);
    form.querySelector("[type=submit]").disabled = true;
    says.textContent = "Sending.";
    try {
      const answer = await send(form.action, sent, (share) => {
        says.textContent = share === 1 ? "Sent and kept. Listening to it."
          : `Sending, ${Math.floor(100 * share)} %. Keep this page open.`;
      });
      put(root, answer);
      form.reset();
      says.textContent = "";
    } catch (error) {
      says.textContent = error.isFinal ? `Not kept. ${error.message}`
        : `Not sent; the file is still on your device. ${error.message} Send it again.`;
    }
    form.querySelector("[type=submit]").disabled = false;
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const file = form.elements.file.files[0];
    if (file) sendFile(file);
  });
  form.addEventListener("dragover", (event) => {
    event.preventDefault();
    form.dataset.over = "yes";
  });
  form.addEventListener("dragleave", () => delete form.dataset.over);
  form.addEventListener("drop", (event) => {
    event.preventDefault();
    delete form.dataset.over;
    const file = event.dataTransfer.files[0];
    if (file) sendFile(file);
  });
}
