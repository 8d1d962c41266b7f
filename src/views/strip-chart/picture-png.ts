import { crc32 } from '../../formats/bytes/crc32';
import { metadataText } from '../../report/figures/svg';

/** A picture in pixels from its SVG, at `dpi` dots an inch of its true size; the file says so. Runs in a page. */
export async function picturePng(svg: string, dpi = 300): Promise<Blob> {
  const size = /width="([\d.]+)mm" height="([\d.]+)mm"/.exec(svg);
  if (!size) throw new RangeError('the picture names no size in mm');
  const url = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const canvas = document.createElement('canvas');
    canvas.width = Math.round((Number(size[1]) / 25.4) * dpi);
    canvas.height = Math.round((Number(size[2]) / 25.4) * dpi);
    canvas.getContext('2d')!.drawImage(image, 0, 0, canvas.width, canvas.height);
    const plain = await new Promise<Blob | null>(resolve => canvas.toBlob(resolve, 'image/png'));
    if (!plain) throw new RangeError(`the browser cannot draw ${canvas.width} x ${canvas.height} pixels`);
    return new Blob([completed(new Uint8Array(await plain.arrayBuffer()), svg, dpi)], { type: 'image/png' });
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** Bytes before the first chunk after the header: signature 8, IHDR 4 + 4 + 13 + 4. */
const afterHeader = 33;

/** The drawn picture with its size, and with what the SVG it was drawn from says it was made from. */
export function completed(png: Uint8Array<ArrayBuffer>, svg: string, dpi: number): Uint8Array<ArrayBuffer> {
  const source = metadataText(svg);
  return withChunks(png, [resolution(dpi), ...(source === null ? [] : [sourceText(source)])]);
}

/** The pHYs chunk (PNG specification, third edition, 11.3.4.3): pixels per metre in both directions. */
function resolution(dpi: number): Uint8Array {
  const data = new Uint8Array(9);
  const view = new DataView(data.buffer);
  const perMetre = Math.round(dpi / 0.0254);
  view.setUint32(0, perMetre);
  view.setUint32(4, perMetre);
  data[8] = 1;
  return chunkOf('pHYs', data);
}

/** The iTXt chunk (the same, 11.3.3.4) with the keyword Source: not compressed, of no language, UTF-8. */
function sourceText(text: string): Uint8Array {
  return chunkOf('iTXt', new TextEncoder().encode(`Source\0\0\0\0\0${text}`));
}

/** Length, type, data and the CRC of type and data. */
function chunkOf(type: string, data: Uint8Array): Uint8Array {
  const chunk = new Uint8Array(12 + data.length);
  const view = new DataView(chunk.buffer);
  view.setUint32(0, data.length);
  for (let i = 0; i < 4; i++) chunk[4 + i] = type.charCodeAt(i);
  chunk.set(data, 8);
  view.setUint32(8 + data.length, crc32(chunk.subarray(4, 8 + data.length)));
  return chunk;
}

function withChunks(png: Uint8Array<ArrayBuffer>, chunks: readonly Uint8Array[]): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(png.length + chunks.reduce((n, c) => n + c.length, 0));
  out.set(png.subarray(0, afterHeader));
  let at = afterHeader;
  for (const chunk of chunks) {
    out.set(chunk, at);
    at += chunk.length;
  }
  out.set(png.subarray(afterHeader), at);
  return out;
}
