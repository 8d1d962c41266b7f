import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, type Page, test } from '@playwright/test';
import { csvParse } from 'd3-dsv';
import { runCli } from '../../src/cli/run';
import { exported, goTo, ready, saved } from './page';

/** The same numbers on the page, in the results table and from the command line. */

const samples = join(import.meta.dirname, '../../sample-sessions');
const { sessions } = JSON.parse(readFileSync(join(samples, 'index.json'), 'utf8')) as {
  sessions: { file: string; title: string; participant: string }[];
};

type Row = Record<string, unknown>;
interface CliScore {
  readonly recording: string;
  readonly segments: readonly Row[];
  readonly total: Row;
}

async function scoresByCommandLine(bundle: Buffer): Promise<CliScore[]> {
  const folder = mkdtempSync(join(tmpdir(), 'numbers-'));
  try {
    writeFileSync(join(folder, 'session.zip'), bundle);
    let out = '';
    const print = (text: string) => void (out += text);
    const ignore = () => undefined;
    expect(
      await runCli(['score', join(folder, 'session.zip'), '--json'], {
        print,
        note: ignore,
        doubt: ignore,
        fail: print,
      }),
      out,
    ).toBe(0);
    return (JSON.parse(out) as { scores: CliScore[] }).scores;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const columns: Record<string, string> = {
  start_sample: 'startSample',
  end_sample: 'endSample',
  beats: 'beats',
  missed: 'missed',
  wrong_peak: 'wrongPeak',
  extra: 'extra',
  refined: 'refined',
  judged_intervals: 'judgedIntervals',
  lost_intervals: 'lostIntervals',
  right_intervals: 'rightIntervals',
  quality_percent: 'qualityPercent',
  readable_quality_percent: 'readableQualityPercent',
  sensitivity: 'sensitivity',
  ppv: 'ppv',
  f1: 'f1',
  unreadable_s: 'unreadableSeconds',
  other_trace_used: 'otherTraceUsed',
};

function sameAsTable(row: Row, csv: Record<string, string>): void {
  for (const [column, key] of Object.entries(columns)) {
    const value = row[key];
    if (value === null) expect(csv[column], column).toBe('');
    else expect(Number(csv[column]), `${row['name']}, ${column}`).toBe(value);
  }
}

type Cells = Record<string, string>;

/** Every cell of a recorder's ledger, by segment and name. */
function ledger(page: Page, recording: string): Promise<Record<string, Cells>> {
  return page
    .getByTestId(`ledger-${recording}`)
    .evaluate(table =>
      Object.fromEntries(
        [...table.querySelectorAll<HTMLElement>('tr[data-segment]')].map(row => [
          row.dataset['segment']!,
          Object.fromEntries(
            [...row.querySelectorAll<HTMLElement>('[data-cell]')].map(c => [c.dataset['cell']!, c.textContent ?? '']),
          ),
        ]),
      ),
    );
}

/** What stands in the ledger under the name of a segment, from the row of the command line. */
function standingOf(row: Row): string {
  if (row['finalSegments']) return `so far, ${row['finalSegments']} of ${row['segments']} segments final`;
  const percent = Number(row['lookedAtPercent']);
  const looked = `${percent > 0 && percent < 1 ? 'under 1' : Math.floor(percent)} % looked at`;
  return { final: looked, 'so far': `so far, ${looked}` }[String(row['status'])] ?? 'not reviewed yet';
}

function sameAsPage(row: Row, csv: Cells, shown: Cells): void {
  expect(csv['status']).toBe(row['status']);
  expect(Number(csv['coverage_percent'])).toBe(row['lookedAtPercent']);
  const coverage = shown['coverage'] === 'signed off' ? 'signed off' : standingOf(row);
  if (row['status'] === 'not reviewed yet') {
    const none = { missed: '–', 'wrong peak': '–', extra: '–', lost: '–', quality: '–' };
    expect(shown).toEqual({ coverage, ...none });
    return;
  }
  const [low, high] = row['qualityInterval95'] as [number, number];
  const intervals = Number(row['judgedIntervals']) + Number(row['lostIntervals']);
  const quality = (row['qualityPercent'] as number).toFixed(1);
  expect(shown).toEqual({
    coverage,
    missed: String(row['missed']),
    'wrong peak': String(row['wrongPeak']),
    extra: String(row['extra']),
    lost: String(row['lostIntervals']),
    quality: `${quality} %${row['rightIntervals']} of ${intervals}${low.toFixed(1)} to ${high.toFixed(1)}`,
  });
}

// Of the sample sessions the one that is half reviewed, and the one whose recorder stopped for some seconds.
for (const { title } of sessions.filter(s => s.participant === 'V02' || s.participant === 'V04')) {
  test(`${title}: ledger, results table and command line agree, recorder by recorder`, async ({ page }) => {
    test.slow();
    await page.goto('/');
    await page.getByRole('button', { name: title }).click();
    await ready(page);
    const press = async (...keys: string[]) => {
      for (const key of keys) await page.keyboard.press(key);
    };
    // A mistake of every kind in the last activity, which nobody has signed off, and a stretch nobody can read.
    await press('b');
    await goTo(page, 1400);
    await press('ArrowRight', 'Delete', 'ArrowRight', '>', '>', '>', '>', '>', '>', '>', '>', '>');
    await press(
      'ArrowRight',
      'Shift+ArrowRight',
      'Shift+ArrowRight',
      'Shift+ArrowRight',
      'Shift+ArrowRight',
      'Shift+I',
    );
    await press('ArrowRight', 'ArrowRight', 'u', 'ArrowRight', 'ArrowRight', 'ArrowRight', 'u');
    // Accepted without turning: the page is seen then, and no look of it comes later than the export.
    await press('Shift+Enter');
    await saved(page);

    const [csvFile] = await exported(page, 'Results table', 2);
    const table = csvParse(csvFile!.bytes.toString('utf8'));
    const [bundle] = await exported(page, 'Session bundle');
    const scores = await scoresByCommandLine(bundle!.bytes);
    expect(scores).toHaveLength(2);
    expect(table).toHaveLength(12);
    const { missed, wrongPeak, lostIntervals } = scores[0]!.total;
    expect(Number(missed) + Number(wrongPeak)).toBeGreaterThan(0);
    expect(Number(lostIntervals)).toBeGreaterThan(0);
    for (const score of scores) {
      const shown = await ledger(page, score.recording);
      for (const row of [...score.segments, score.total]) {
        const csv = table.find(r => r['recording'] === score.recording && r['segment'] === row['name']);
        sameAsTable(row, csv!);
        sameAsPage(row, csv!, shown[String(row['name'])]!);
      }
    }
  });
}
