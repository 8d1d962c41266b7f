import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { previewText, type TextLayout } from '../../../../src/formats/text/layout';
import { readTextSignal } from '../../../../src/formats/text/signal';

export const bytesOf = (text: string) => new TextEncoder().encode(text);

/** A text signal read as the preview understands it, some of that changed; `mv` has the leads in mV to the nV. */
export async function readText(text: string | Uint8Array, change: Partial<TextLayout> = {}) {
  const source = bytesSource('strip.dat', typeof text === 'string' ? bytesOf(text) : text);
  const layout = await previewText(source);
  const sink = memorySink();
  const opened = await readTextSignal(source, { ...layout, ...change }, sink);
  const mv = opened.recording.leads.map((l, i) =>
    Array.from(sink.lead(i), w => Math.round((w - l.offset) * l.mvPerUnit * 1e6) / 1e6),
  );
  return { layout, opened, sink, mv };
}
