import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { crc32, deflateSync } from 'node:zlib';

/** Draws the page's mark, a ruled line with ticks, as the PNG icons of the manifest: `npx tsx src/samples/icons.ts`. */

type Colour = readonly [red: number, green: number, blue: number];

const paper: Colour = [0xfa, 0xf6, 0xec];
const ink: Colour = [0x16, 0x22, 0x3c];
const accent: Colour = [0x00, 0x73, 0x6c];

/** As in public/icon.svg, on a square of 64: left, top, right, bottom. */
const bars: readonly (readonly [number, number, number, number, Colour])[] = [
  [30, 42, 34, 54, accent],
  [8, 38, 56, 42, ink],
  [14, 22, 18, 40, ink],
  [30, 22, 34, 40, ink],
  [46, 22, 50, 40, ink],
];

function colourAt(x: number, y: number): Colour {
  return bars.find(([l, t, r, b]) => x >= l && x < r && y >= t && y < b)?.[4] ?? paper;
}

/** Rows of RGB pixels, each with its filter byte. */
function pixels(size: number): Buffer {
  const rows = Buffer.alloc(size * (1 + 3 * size));
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const colour = colourAt(((x + 0.5) * 64) / size, ((y + 0.5) * 64) / size);
      rows.set(colour, y * (1 + 3 * size) + 1 + 3 * x);
    }
  }
  return rows;
}

function chunk(name: string, data: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
  const framed = Buffer.alloc(body.length + 8);
  framed.writeUInt32BE(data.length, 0);
  body.copy(framed, 4);
  framed.writeUInt32BE(crc32(body), body.length + 4);
  return framed;
}

/** source: PNG (Third Edition), W3C 2025, section 11: IHDR with 8 bits a channel, colour type 2. */
function png(size: number): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(size, 0);
  header.writeUInt32BE(size, 4);
  header.set([8, 2, 0, 0, 0], 8);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const image = deflateSync(pixels(size), { level: 9 });
  return Buffer.concat([signature, chunk('IHDR', header), chunk('IDAT', image), chunk('IEND', Buffer.alloc(0))]);
}

for (const size of [192, 512]) {
  writeFileSync(join(import.meta.dirname, '../../public', `icon-${size}.png`), png(size));
}
