"use strict";
// records taps as WAV where the browser gives a microphone: raw samples, nothing filtered, nothing computed
(() => {
  const box = document.getElementById("mic");
  const button = document.getElementById("record");
  const told = document.getElementById("recorded");
  const file = document.getElementById("wav");
  if (!navigator.mediaDevices || !window.AudioWorkletNode) { return; }
  box.hidden = false;
  document.getElementById("no-mic").hidden = true;
  let stop = null;

  function wav(pieces, rate) {
    const count = pieces.reduce((sum, piece) => sum + piece.length, 0);
    const view = new DataView(new ArrayBuffer(44 + 2 * count));
    const word = (at, text) => [...text].forEach((letter, i) => view.setUint8(at + i, letter.charCodeAt(0)));
    word(0, "RIFF"); view.setUint32(4, 36 + 2 * count, true); word(8, "WAVEfmt ");
    view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
    view.setUint32(24, rate, true); view.setUint32(28, 2 * rate, true); view.setUint16(32, 2, true); view.setUint16(34, 16, true);
    word(36, "data"); view.setUint32(40, 2 * count, true);
    let at = 44;
    for (const piece of pieces) {
      for (const sample of piece) { view.setInt16(at, Math.max(-32768, Math.min(32767, Math.round(sample * 32767))), true); at += 2; }
    }
    return new File([view.buffer], "taps.wav", { type: "audio/wav" });
  }

  async function begin() {
    const stream = await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 } });
    const context = new AudioContext();
    await context.audioWorklet.addModule("/static/record-worklet.js");
    const source = context.createMediaStreamSource(stream);
    const node = new AudioWorkletNode(context, "take-samples");
    const pieces = [];
    node.port.onmessage = (event) => { pieces.push(event.data); };
    source.connect(node);
    button.textContent = "Stop";
    told.textContent = "recording: five taps, a second apart";
    const limit = setTimeout(() => stop && stop(), 20000);
    stop = async () => {
      stop = null;
      clearTimeout(limit);
      stream.getTracks().forEach((track) => track.stop());
      await context.close();
      const transfer = new DataTransfer();
      transfer.items.add(wav(pieces, context.sampleRate));
      file.files = transfer.files;
      button.textContent = "Record again";
      told.textContent = `recorded, ${Math.round(file.files[0].size / 1000)} kB`;
    };
  }
  button.addEventListener("click", () => {
    if (stop) { stop(); return; }
    begin().catch(() => { told.textContent = "the browser gave no microphone; choose a WAV file instead"; });
  });
})();
