// Collects one channel of the microphone, sample by sample, and counts what the browser lost.

const BLOCK = 2048;
const LONGEST_HOLE = 48000;

class Take extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(BLOCK);
    this.filled = 0;
    this.next = null;
    this.seen = 0;
    this.lost = 0;
    this.isOver = false;
    this.port.onmessage = () => this.finish();
  }

  process(inputs) {
    if (this.isOver) return false;
    const channel = inputs[0][0];
    if (!channel) return true;
    this.seen += 1;
    // The clock of the first block runs ahead of the sound; the count starts with the second.
    if (this.seen > 1) {
      if (this.next !== null && currentFrame !== this.next) this.hole(currentFrame - this.next);
      this.next = currentFrame + channel.length;
      for (const sample of channel) this.put(sample);
    }
    return true;
  }

  // Lost sound stands as silence, so that what follows keeps its time.
  hole(frames) {
    if (frames <= 0) return;
    this.lost += frames;
    for (let left = Math.min(frames, LONGEST_HOLE); left > 0; left -= 1) this.put(0);
  }

  put(sample) {
    this.block[this.filled] = sample;
    this.filled += 1;
    if (this.filled === BLOCK) this.send();
  }

  send() {
    const samples = this.block.slice(0, this.filled);
    this.port.postMessage({ samples }, [samples.buffer]);
    this.filled = 0;
  }

  finish() {
    if (this.isOver) return;
    if (this.filled) this.send();
    this.isOver = true;
    this.port.postMessage({ lost: this.lost });
  }
}

registerProcessor("take", Take);
