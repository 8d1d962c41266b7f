import { crc32 as zlibCrc32 } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { cssPxPerMm, sampleIndex, span } from '../../../../src/core/units';
import { crc32 } from '../../../../src/formats/bytes/crc32';
import { escapeXml, svgMetadata } from '../../../../src/report/figures/svg';
import { arrange } from '../../../../src/views/strip-chart/arrange';
import { describeBeat } from '../../../../src/views/strip-chart/describe';
import type { StripView } from '../../../../src/views/strip-chart/model';
import { paintBeyond, upTo } from '../../../../src/views/strip-chart/paint/end';
import { printPalette } from '../../../../src/views/strip-chart/paint/palette';
import { SvgSurface } from '../../../../src/views/strip-chart/paint/svg-surface';
import { completed } from '../../../../src/views/strip-chart/picture-png';
import { stripPicture } from '../../../../src/views/strip-chart/strip-picture';
import { recorderWith } from './made-up';

const view: StripView = {
  startSeconds: 0,
  mmPerSecond: 25,
  mmPerMv: 10,
  pxPerMm: cssPxPerMm,
  rows: 1,
  devicePixelRatio: 1,
  theme: '',
};

describe('a beat in words', () => {
  const recorder = recorderWith([1000, 2020, 3300, 4500], [1000, 2000, 3000, 4000], {
    accepted: [span(0, 1500)],
    segments: [{ name: 'uphill run', start: sampleIndex(0), end: sampleIndex(2500) }],
    startedAt: '2031-02-11T08:30:00',
  });

  it('tells place, verdict, intervals, amplitude and surroundings', () => {
    expect(describeBeat(recorder, 2000)).toBe(
      'Beat at 2.000 s, centred, 20 ms earlier; interval before 1000 ms; interval after 1000 ms, beat after moved 300 ms earlier; ' +
        'lead II 1.10 mV; segment uphill run; at 08:30:02.',
    );
    expect(describeBeat(recorder, 1000)).toContain('Beat at 1.000 s, kept; interval after 1000 ms');
    expect(describeBeat(recorder, 3000)).toContain('moved 300 ms earlier');
    expect(describeBeat(recorder, 4000)).toContain('inserted');
    expect(describeBeat(recorder, 4500)).toContain('Detected mark at 4.500 s, removed');
  });

  it('says when a beat was not looked at, and what is near where there is none', () => {
    expect(describeBeat({ ...recorder, accepted: [] }, 1000)).toContain('not looked at yet');
    expect(describeBeat(recorder, 1100)).toContain('Caret at 1.100 s, nearest beat 100 ms before');
    expect(describeBeat(recorderWith([], []), 1100)).toContain('no beats marked');
  });

  it('tells a suggestion only as long as it can be taken', () => {
    const suggestions = [{ kind: 'move', from: 3300, at: 3000 }] as const;
    const before = recorderWith([1000, 3300], [1000, 3300], { suggestions });
    expect(describeBeat(before, 3300)).toContain('; suggested: move.');
    const after = recorderWith([1000, 3300], [1000, 3000], { suggestions });
    expect(describeBeat(after, 3000)).not.toContain('suggested');
  });

  it('knows no minus zero', () => {
    const recorder = recorderWith([1000], [1000]);
    const [track] = recorder.tracks;
    const flat: typeof track = {
      ...track!,
      columns: (_from, _to, _count, out) => {
        out.max[0] = -0.001;
        return 'exact';
      },
    };
    expect(describeBeat({ ...recorder, tracks: [flat] }, 1000)).toContain('lead II 0.00 mV');
  });

  it('says that an interval cannot be read across an unreadable stretch', () => {
    const noisy = recorderWith([1000, 2000], [1000, 2000], { unreadable: [span(1400, 1500)] });
    expect(describeBeat(noisy, 1000)).toContain('interval after not readable');
  });
});

describe('the picture', () => {
  const recorder = recorderWith([1000, 2020, 3300, 4500], [1000, 2000, 3000, 4000], { label: 'band <1> & "co"' });
  const svg = stripPicture({
    model: { recorders: [recorder] },
    view,
    width: 960,
    height: 360,
    notes: ['tolerance 50 ms'],
  });

  it('has its true size on paper', () => {
    const [, width] = /width="([\d.]+)mm"/.exec(svg)!;
    // source: CSS Values 4: 1 in = 96 px = 25.4 mm
    expect(Number(width)).toBeCloseTo((960 / 96) * 25.4, 2);
  });

  it('names recorder, lead, place, scale, filters and scale bars', () => {
    const words = svg.replace(/<[^>]+>/g, '|');
    for (const part of [
      'lead II',
      'no display filter',
      'from 0:00.0',
      '25 mm/s, 10 mm/mV',
      'tolerance 50 ms',
      '1 s',
      '1 mV',
    ]) {
      expect(words).toContain(part);
    }
    expect(words).toContain('as detected');
  });

  it('puts why a place is worth a look on a line of its own where a segment begins', () => {
    const reason = 'the second detector finds a beat here';
    const placesOf = (segmentAt: number) => {
      const begun = recorderWith([1000, 2020, 3300, 4500], [1000, 2000, 3000, 4000], {
        segments: [{ name: 'uphill run', start: sampleIndex(segmentAt), end: sampleIndex(9000) }],
        caret: sampleIndex(1000),
        reason,
      });
      const words = stripPicture({ model: { recorders: [begun] }, view, width: 960, height: 360, notes: [] });
      const yOf = (text: string) => Number(new RegExp(`<text[^>]* y="([\\d.]+)"[^>]*>${text}<`).exec(words)![1]);
      return { name: yOf('uphill run'), reason: yOf(reason) };
    };
    const far = placesOf(6000);
    const near = placesOf(1100);
    expect(near.name).toBe(far.name);
    expect(near.reason - far.reason).toBeGreaterThan(11);
    expect(Math.abs(near.reason - near.name)).toBeGreaterThan(11);
  });

  it('ends with the recording: no time and no ledger beyond', () => {
    const picture = (rows: number) =>
      stripPicture({
        model: { recorders: [recorder] },
        view: { ...view, mmPerSecond: 5, rows },
        width: 960,
        height: 360,
        notes: [],
      });
    // A row of 836 px at 5 mm/s shows 44 s, the recording has 20.
    expect(picture(1)).toMatch(/>0:15</);
    expect(picture(1)).not.toMatch(/>0:2[5-9]|>0:[34]/);
    const labels = (svg: string) => svg.match(/as detected/g)!.length;
    expect(labels(picture(1))).toBe(1);
    const { layout, scales } = arrange({ recorders: [recorder] }, { ...view, mmPerSecond: 5, rows: 2 }, 960, 360);
    expect(upTo(scales[0]!, 20)).toMatchObject({ endSeconds: 20 });
    expect(upTo(scales[1]!, 20)).toBeNull();
    const surface = new SvgSurface();
    paintBeyond(surface, printPalette, layout, layout.rows[1]!, null);
    expect(surface.finish(960, 360, 1, '', {})).toContain(`M0 ${layout.rows[1]!.top}h960`);
  });

  it('is well-formed: every name is escaped and every element closed', () => {
    expect(svg).not.toContain('<1>');
    expect(svg.match(/<g /g)!.length).toBe(svg.match(/<\/g>/g)!.length);
    expect(svg).not.toMatch(/NaN|Infinity|undefined/);
    expect(escapeXml(`<a b='"&`)).toBe('&#60;a b=&#39;&#34;&#38;');
  });

  it('carries no inline style, so the strict page policy lets it show', () => {
    expect(svg).not.toMatch(/style=|<style/);
  });
});

describe('suggestions in words', () => {
  const words = (suggestions: NonNullable<Parameters<typeof recorderWith>[2]>['suggestions'], reviewed: number[]) => {
    const recorder = recorderWith(reviewed, reviewed, { suggestions: suggestions! });
    const svg = stripPicture({ model: { recorders: [recorder] }, view, width: 960, height: 360, notes: [] });
    return svg.match(/(add|move|remove)\?/g) ?? [];
  };

  it('never stand one upon the other: the more suspicious place keeps its own', () => {
    expect(
      words(
        [
          { kind: 'move', from: 1000, at: 1150 },
          { kind: 'insert', at: 1300 },
        ],
        [1000, 3000],
      ),
    ).toEqual(['move?']);
    expect(
      words(
        [
          { kind: 'move', from: 1000, at: 1150 },
          { kind: 'insert', at: 2200 },
        ],
        [1000, 3000],
      ),
    ).toEqual(['move?', 'add?']);
  });

  it('are gone once the suggestion is taken', () => {
    expect(words([{ kind: 'insert', at: 2000 }], [1000, 3000])).toEqual(['add?']);
    expect(words([{ kind: 'insert', at: 2000 }], [1000, 2000, 3000])).toEqual([]);
  });
});

describe('PNG resolution', () => {
  // source: Node's zlib.crc32 as an independent implementation
  it('has the right checksum', () => {
    const bytes = new TextEncoder().encode('123456789');
    expect(crc32(bytes)).toBe(zlibCrc32 ? zlibCrc32(bytes) : 0xcbf43926);
    // source: the published check value of CRC-32/ISO-HDLC
    expect(crc32(bytes)).toBe(0xcbf43926);
    expect(crc32(bytes.subarray(4), crc32(bytes.subarray(0, 4)))).toBe(0xcbf43926);
  });

  // source: PNG specification 11.3.4.3; 300 dpi = 11811 pixels a metre
  it('puts pHYs right after the header', () => {
    const png = new Uint8Array(60).fill(7);
    const out = completed(png, '<svg></svg>', 300);
    const at = new DataView(out.buffer);
    expect(out.length).toBe(81);
    expect(at.getUint32(33)).toBe(9);
    expect(String.fromCharCode(...out.subarray(37, 41))).toBe('pHYs');
    expect([at.getUint32(41), at.getUint32(45), out[49]]).toEqual([11811, 11811, 1]);
  });

  // source: PNG specification 11.3.3.4: keyword, 0, two flags, two empty texts, UTF-8
  it('says in iTXt what the picture was made from', () => {
    const facts = { source: 'V01 <rest> & "run" µV.edf' };
    const out = completed(new Uint8Array(60).fill(7), `<svg>${svgMetadata(facts)}</svg>`, 300);
    const data = new TextEncoder().encode(`Source\0\0\0\0\0${JSON.stringify(facts)}`);
    const at = new DataView(out.buffer);
    expect(at.getUint32(54)).toBe(data.length);
    expect(String.fromCharCode(...out.subarray(58, 62))).toBe('iTXt');
    expect(out.subarray(62, 62 + data.length)).toEqual(data);
    expect(at.getUint32(62 + data.length)).toBe(crc32(out.subarray(58, 62 + data.length)));
    expect(out.length).toBe(81 + 12 + data.length);
  });
});
