// Taps recorded in the page, without loss, and put among the form's files as WAV.
// A browser gives the microphone only on this computer or over https; else the phone's own recorder is offered.

import { wav } from "./wav.js";

const LONGEST_S = 120;
// What browsers do to speech would spoil a tap.
const PLAIN = { audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 } };

export function records() {
  for (const place of document.querySelectorAll("[data-record]")) setUp(place);
}

function setUp(place) {
  const part = (name) => place.querySelector(`[data-record-${name}]`);
  const input = place.querySelector('input[name="recordings"][multiple]');
  if (!navigator.mediaDevices?.getUserMedia || !globalThis.AudioWorkletNode) {
    part("phone").hidden = false;
    return;
  }
  part("press").parentElement.hidden = false;
  const kept = [];
  let running = null;

  const say = (text) => { part("says").textContent = text; };
  const give = () => {
    const files = new DataTransfer();
    for (const file of [...input.files].filter((file) => !kept.dropped?.has(file) && !kept.includes(file))) files.items.add(file);
    for (const file of kept) files.items.add(file);
    input.files = files.files;
    list();
  };
  const list = () => {
    part("list").replaceChildren(...kept.map((file, at) => {
      const row = document.createElement("li");
      const drop = document.createElement("button");
      drop.type = "button";
      drop.className = "plain";
      drop.textContent = "Leave out";
      drop.setAttribute("aria-label", `Leave out ${file.name}`);
      drop.addEventListener("click", () => {
        const gone = kept.splice(at, 1)[0];
        kept.dropped = new Set([...(kept.dropped ?? []), gone]);
        give();
      });
      const name = document.createElement("span");
      name.textContent = `${file.name}, ${file.seconds.toFixed(0)} s`;
      row.append(name, drop);
      return row;
    }));
  };

  const stop = async () => {
    const { sound, stream, context } = running;
    running = null;
    clearTimeout(part("press").late);
    for (const track of stream.getTracks()) track.stop();
    const rate = context.sampleRate;
    await context.close();
    part("press").textContent = "Record more";
    part("press").setAttribute("aria-pressed", "false");
    part("level").hidden = true;
    const samples = sound.reduce((all, block) => all + block.length, 0);
    if (samples < rate / 5) { say("Too short; record again."); return; }
    const file = new File([wav(sound, rate)], `recorded ${kept.length + 1}.wav`, { type: "audio/wav" });
    file.seconds = samples / rate;
    kept.push(file);
    give();
    say(`Recorded ${file.seconds.toFixed(0)} s. Record more, or read the taps.`);
  };

  const start = async () => {
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia(PLAIN);
    } catch (error) {
      say(error.name === "NotAllowedError"
        ? "The browser was not allowed the microphone: allow it beside the address, or choose a recording."
        : "There is no microphone here: choose a recording made elsewhere.");
      return;
    }
    const context = new AudioContext();
    await context.audioWorklet.addModule("/static/plate/listen.js");
    const node = new AudioWorkletNode(context, "listen", { numberOfOutputs: 0 });
    const sound = [];
    node.port.onmessage = ({ data }) => {
      sound.push(data);
      part("level").value = data.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    };
    context.createMediaStreamSource(stream).connect(node);
    running = { sound, stream, context };
    part("press").late = setTimeout(() => running && stop(), LONGEST_S * 1000);
    part("press").textContent = "Stop";
    part("press").setAttribute("aria-pressed", "true");
    part("level").hidden = false;
    say("Recording. Tap six times, a second apart; no bar at its end.");
  };

  let busy = false;
  part("press").addEventListener("click", async () => {
    if (busy) return;
    busy = true;
    try { await (running ? stop() : start()); } finally { busy = false; }
  });
}
