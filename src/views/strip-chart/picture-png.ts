import { crc32 } from '../../formats/bytes/crc32';

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
    const sized = withResolution(new Uint8Array(await plain.arrayBuffer()), dpi);
    return new Blob([sized], { type: 'image/png' });
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** Bytes before the first chunk after the header: signature 8, IHDR 4 + 4 + 13 + 4. */
const afterHeader = 33;

/** Adds the pHYs chunk (PNG specification, third edition, 11.3.4.3): pixels per metre in both directions. */
export function withResolution(png: Uint8Array<ArrayBuffer>, dpi: number): Uint8Array<ArrayBuffer> {
  const chunk = new Uint8Array(21);
  const view = new DataView(chunk.buffer);
  const perMetre = Math.round(dpi / 0.0254);
  view.setUint32(0, 9);
  chunk.set([0x70, 0x48, 0x59, 0x73], 4);
  view.setUint32(8, perMetre);
  view.setUint32(12, perMetre);
  chunk[16] = 1;
  view.setUint32(17, crc32(chunk.subarray(4, 17)));
  const out = new Uint8Array(png.length + chunk.length);
  out.set(png.subarray(0, afterHeader));
  out.set(chunk, afterHeader);
  out.set(png.subarray(afterHeader), afterHeader + chunk.length);
  return out;
}
