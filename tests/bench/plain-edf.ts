/** A plain EDF file of known words, made in blocks, so that a file of any length needs no memory. Runs in Node and browser. */
export interface PlainEdf {
  readonly leads: number;
  readonly samplingRateHz: number;
  readonly seconds: number;
}

/** Word `i` of a lead: a beat a second with slow drift, different in each lead and at each beat. */
export function plainWord(lead: number, i: number, samplingRateHz: number): number {
  const phase = (i % samplingRateHz) / samplingRateHz;
  const beat = phase > 0.3 && phase < 0.36 ? Math.round(900 * (1 - Math.abs(phase - 0.33) / 0.03)) : 0;
  return beat + ((i * 31 + lead * 17) % 61) - 30 + (Math.floor(i / samplingRateHz) % 40);
}

/** Blocks of the file, each of whole seconds. */
export function* plainEdfBlocks({ leads, samplingRateHz, seconds }: PlainEdf): Generator<Uint8Array<ArrayBuffer>> {
  yield header(leads, samplingRateHz, seconds);
  const secondsPerBlock = Math.max(1, Math.floor(2_000_000 / (leads * samplingRateHz)));
  for (let from = 0; from < seconds; from += secondsPerBlock) {
    const count = Math.min(secondsPerBlock, seconds - from);
    const words = new Int16Array(count * leads * samplingRateHz);
    let at = 0;
    for (let s = from; s < from + count; s++) {
      for (let lead = 0; lead < leads; lead++) {
        const first = s * samplingRateHz;
        for (let i = first; i < first + samplingRateHz; i++) words[at++] = plainWord(lead, i, samplingRateHz);
      }
    }
    yield new Uint8Array(words.buffer);
  }
}

/** Field widths after Kemp et al. 1992. */
function header(leads: number, samplingRateHz: number, seconds: number): Uint8Array<ArrayBuffer> {
  const text = (value: string | number, width: number) => String(value).padEnd(width).slice(0, width);
  const each = (value: (lead: number) => string | number, width: number) =>
    Array.from({ length: leads }, (_, lead) => text(value(lead), width)).join('');
  const head = [
    text('0', 8),
    text('X X X X', 80),
    text('Startdate 04-MAY-2026 X X adhesive_logger', 80),
    text('04.05.26', 8),
    text('09.00.00', 8),
    text(256 * (leads + 1), 8),
    text('', 44),
    text(seconds, 8),
    text(1, 8),
    text(leads, 4),
    each(lead => `ECG ${lead + 1}`, 16),
    each(() => '', 80),
    each(() => 'uV', 8),
    each(() => -5000, 8),
    each(() => 5000, 8),
    each(() => -32768, 8),
    each(() => 32767, 8),
    each(() => '', 80),
    each(() => samplingRateHz, 8),
    each(() => '', 32),
  ].join('');
  return new TextEncoder().encode(head);
}
