"use strict";
// hands the samples of the microphone on, as they are
registerProcessor("take-samples", class extends AudioWorkletProcessor {
  process(inputs) {
    if (inputs[0][0]) { this.port.postMessage(inputs[0][0].slice()); }
    return true;
  }
});
