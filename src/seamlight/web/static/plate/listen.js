// Runs beside the page in the browser's sound thread: hands blocks of samples over as they come.

const BLOCK = 2048;

class Listen extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(BLOCK);
    this.at = 0;
  }

  process([input]) {
    const samples = input[0];
    if (!samples) return true;
    for (const value of samples) {
      this.block[this.at] = value;
      this.at += 1;
      if (this.at === BLOCK) {
        this.port.postMessage(this.block.slice());
        this.at = 0;
      }
    }
    return true;
  }
}

registerProcessor("listen", Listen);
