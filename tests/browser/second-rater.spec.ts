import { type Browser, expect, type Page, test } from '@playwright/test';
import { readBundle } from '../../src/formats/bundle/reader';
import { fileSource } from '../../src/formats/bytes/source';
import { clock } from '../../src/state/clocks/text';
import { column, exported, goTo, openBundle, ready, saved } from './page';
import * as given from './two-raters';

const { beats, n1, n2, rateHz, segmentNames, session } = given;
const [seated, hike] = segmentNames;
const percent = (right: number, of: number) => `${((100 * right) / of).toFixed(1)} % (${right} of ${of})`;
const zip = (name: string, buffer: Buffer) => ({ name, mimeType: 'application/zip', buffer });

function figure(page: Page, segment: string, name: string) {
  return page.getByTestId('agreement-band').locator(`tr[data-segment="${segment}"] [data-cell="${name}"]`);
}

async function asRater(browser: Browser, code: string): Promise<Page> {
  const page = await (await browser.newContext()).newPage();
  await page.goto('/');
  await page.getByTestId('rater-code').fill(code);
  return page;
}

async function take(page: Page, name: string, bundle: Buffer): Promise<void> {
  await page.goto('/#/');
  await page.getByTestId('file-input').setInputFiles(zip(name, bundle));
}

async function openSession(page: Page): Promise<void> {
  await page.getByRole('link', { name: session.title }).click();
  await ready(page);
}

/** R2's review by keyboard: the mistake both see, and four differences. */
async function reviewAsR2(page: Page): Promise<void> {
  const press = (key: string) => page.keyboard.press(key);
  const onMark = async (sample: number) => {
    await goTo(page, sample / rateHz);
    await press('ArrowLeft');
    await press('ArrowRight');
    await expect(page.getByTestId('beat-description')).toContainText((sample / rateHz).toFixed(3));
  };
  await goTo(page, beats[given.missedBeat]! / rateHz);
  await press('i');
  await onMark(beats[given.removedByB]!);
  await press('Delete');
  await onMark(beats[given.movedByB]!);
  for (let i = 0; i < given.apart; i++) await press('.');
  await goTo(page, given.noisy.start / rateHz);
  await press('u');
  await goTo(page, given.noisy.end / rateHz);
  await press('u');
  for (const name of segmentNames) {
    await press(name === seated ? 'Home' : 'PageDown');
    const coverage = page.getByTestId('ledger-band').locator(`tr[data-segment="${name}"] [data-cell="coverage"]`);
    for (let i = 0; i < 60 && (await coverage.textContent()) !== '100 % looked at'; i++) await press('Enter');
    await press('Home');
    if (name !== seated) await press('PageDown');
    await press('o');
    await expect(coverage).toHaveText('signed off');
  }
  await press('Control+Enter');
  await page.keyboard.press('Tab');
  await page.getByRole('button', { name: 'Finish', exact: true }).press('Enter');
  await expect(page.getByTestId('saving')).toContainText('review finished');
  await saved(page);
}

/** The table of the two planted reviews. source: counted by pass on the beats, by the definitions of quality and F1. */
async function expectAgreement(page: Page): Promise<void> {
  const rows: [segment: string, cells: Record<string, string>][] = [
    [
      seated,
      {
        agreed: String(n1),
        'only A': '0',
        'only B': '1',
        'placed apart': '0',
        F1: ((2 * n1) / (2 * n1 + 1)).toFixed(4),
        'quality A': percent(n1 - 4, n1 - 1),
        'quality B': percent(n1 - 2, n1),
      },
    ],
    [
      hike,
      {
        agreed: String(n2 - 4),
        'only A': '1',
        'only B': '0',
        'placed apart': '1',
        F1: ((2 * (n2 - 4)) / (2 * n2 - 5)).toFixed(4),
        'quality A': percent(n2 - 1, n2 - 1),
        'quality B': percent(n2 - 8, n2 - 2),
        difference: `+${(100 - (100 * (n2 - 8)) / (n2 - 2)).toFixed(2)}`,
        overlap: '0.000',
      },
    ],
    [
      'all segments',
      {
        agreed: String(n1 + n2 - 4),
        'quality A': percent(n1 + n2 - 5, n1 + n2 - 2),
        'quality B': percent(n1 + n2 - 10, n1 + n2 - 2),
      },
    ],
  ];
  for (const [segment, cells] of rows) {
    for (const [name, words] of Object.entries(cells)) await expect(figure(page, segment, name)).toHaveText(words);
  }
  // Kappa by its definition (Cohen 1960) over the verdicts as planted: kept or removed by A; kept, moved, removed or
  // unreadable by B.
  const n = n1 + n2;
  const observed = (n - 5) / n;
  const chance = ((n - 1) / n) * ((n - 4) / n) + (1 / n) * (1 / n);
  const kappa = ((observed - chance) / (1 - chance)).toFixed(3).replace('-', '−');
  await expect(figure(page, 'all segments', 'kappa')).toHaveText(
    new RegExp(`^${kappa} \\(−?\\d\\.\\d{3} to −?\\d\\.\\d{3}\\)$`),
  );
}

test('two raters, a blind bundle, a merge, the comparison, and the settled table', async ({ browser }) => {
  test.setTimeout(180_000);
  const r1 = await asRater(browser, 'R1');
  await take(r1, 'r1.zip', given.bundleOf([given.reviewOfR1()]));
  await expect(r1.getByTestId('raters-two-raters')).toHaveText(/^R1: \d+ entries, finished$/);
  await openSession(r1);
  await expect(r1.getByTestId('saving')).toContainText('review finished');
  await expect(r1.getByText('Compare with other reviews')).toHaveCount(0);
  const [blind] = await exported(r1, 'Bundle for a blind rater');
  expect(blind!.name).toBe('two-raters-for-blind-rating.zip');

  const r2 = await asRater(browser, 'R2');
  await take(r2, blind!.name, blind!.bytes);
  await expect(r2.getByTestId('raters-two-raters')).toHaveText('not begun');
  await openSession(r2);
  await reviewAsR2(r2);
  const [bundle] = await exported(r2, 'Session bundle');

  await take(r1, bundle!.name, bundle!.bytes);
  await expect(r1.getByText('added the review of R2.')).toBeVisible();
  await take(r1, bundle!.name, bundle!.bytes);
  await expect(r1.getByText('nothing new in this bundle')).toBeVisible();
  await expect(r1.getByTestId('raters-two-raters')).toContainText('also by R2');
  await openSession(r1);
  await r1.getByRole('link', { name: 'Compare with other reviews' }).click();
  await expectAgreement(r1);
  await r1.getByTestId('verdict-tables').locator('summary').click();
  const total = r1.getByTestId('verdict-tables').locator('table').last().locator('tbody tr');
  await expect(total.nth(0).locator('td')).toHaveText([String(n1 + n2 - 5), '1', '1', '2']);
  await expect(total.nth(2).locator('td')).toHaveText(['1', '0', '0', '0']);
  await walkAndSettle(r1);
});

const panel = (page: Page) => page.getByTestId('difference-in-hand');

async function beginAsS1(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Settle as supervisor …' }).click();
  await page.getByTestId('supervisor-code').fill('R2');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('alert')).toContainText('R2 has rated this session');
  await page.getByTestId('supervisor-code').fill('S1');
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Begin settling R1 and R2' }).click();
  await expect(page.getByTestId('left-to-settle')).toHaveText('4 to settle');
}

async function walkAndSettle(page: Page): Promise<void> {
  const press = (key: string) => page.keyboard.press(key);
  await press('n');
  await expect(panel(page)).toContainText('only B 1 of 4');
  await press('a');
  await expect(page.getByTestId('said')).not.toHaveText('Taken.');
  await beginAsS1(page);
  // The kinds in their order by place, walked by keyboard.
  for (const [i, kind] of ['only B', 'only A', 'different positions', 'span differs'].entries()) {
    if (i > 0) await press('n');
    await expect(panel(page)).toContainText(`${kind} ${i + 1} of 4`);
  }
  for (let i = 0; i < 3; i++) await press('Shift+N');
  await expect(panel(page)).toContainText('a lone mark on a T wave');
  await press('a');
  await expect(panel(page)).toContainText('only A 2 of 4');
  // What was taken is told, in the region that is read aloud, and stays in the list.
  const said = page.getByRole('status').and(page.getByTestId('said'));
  const taken = page.getByTestId('differences').locator('[data-cell="taken"]');
  await expect(said).toHaveText('Took A: no beat. Difference 2 of 4');
  await expect(taken).toHaveText(['A: no beat', '–', '–', '–']);
  await press('y');
  await page.keyboard.type('a small beat, but a beat');
  await page.getByRole('button', { name: 'Take A', exact: true }).last().click();
  await expect(panel(page)).toContainText('different positions 3 of 4');
  const beatAt = (sample: number) => `a beat at ${clock(sample / rateHz, 3)}`;
  await expect(said).toHaveText(`Took A: ${beatAt(beats[given.removedByB]!)}. Difference 3 of 4`);
  await expect(taken).toHaveText(['A: no beat', `A: ${beatAt(beats[given.removedByB]!)}`, '–', '–']);
  await saved(page);

  await page.reload();
  await expect(page.getByTestId('left-to-settle')).toHaveText('2 to settle');
  await press('v');
  await expect(panel(page)).toContainText('different positions 3 of 4');
  // An edit where both agree is refused; one in the disputed stretch is what gets taken.
  await press('ArrowLeft');
  await press('ArrowLeft');
  await press('Delete');
  await expect(page.getByTestId('said')).toContainText('Both raters agree here');
  await press('v');
  await press('Shift+N');
  await press('.');
  await press('p');
  await expect(panel(page)).toContainText('span differs 4 of 4');
  const placed = beatAt(beats[given.movedByB]! + 1);
  await expect(said).toHaveText(`Took this position: ${placed}. Difference 4 of 4`);
  await press('b');
  await expect(page.getByTestId('left-to-settle')).toHaveText('0 to settle');
  const unreadable = `unreadable for ${((given.noisy.end - given.noisy.start) / rateHz).toFixed(2)} s`;
  await expect(said).toHaveText(`Took B: ${unreadable}. Every difference is settled.`);
  await expect(taken.nth(2)).toHaveText(`new position: ${placed}`);
  await expect(taken.nth(3)).toHaveText(`B: ${unreadable}`);
  await spotCheckAndFinish(page);
  await expectSettled(page);
}

async function spotCheckAndFinish(page: Page): Promise<void> {
  const press = (key: string) => page.keyboard.press(key);
  // Undo goes back to where settling began and no further.
  await press('z');
  await expect(page.getByTestId('left-to-settle')).toHaveText('1 to settle');
  for (let i = 0; i < 6; i++) await press('z');
  await expect(page.getByTestId('said')).toHaveText('Settling began here: what both raters agree on stays.');
  await expect(page.getByTestId('left-to-settle')).toHaveText('4 to settle');
  for (let i = 0; i < 5; i++) await press('Shift+Z');
  await expect(page.getByTestId('left-to-settle')).toHaveText('0 to settle');
  await press('j');
  await page.keyboard.press('Enter');
  const report = page.getByTestId('spot-check');
  await expect(report).toContainText('0 of 1 looked at');
  await press('Control+Enter');
  const finish = page.getByRole('dialog', { name: 'Finish settling' });
  await expect(finish).toContainText('A spot check that was begun is completed before settling is finished.');
  await expect(finish.getByRole('button', { name: 'Finish', exact: true })).toBeDisabled();
  await page.keyboard.press('Escape');
  await press('k');
  await expect(report).toContainText('1 of 1 looked at, changed 0 of 1 (0.0 to 79.3 %)');
  await press('Control+Enter');
  await page.getByRole('button', { name: 'Finish', exact: true }).click();
  await expect(page.getByTestId('saving')).toContainText('review finished');
}

/** source: by hand; the settled review has R1's beats but for one sample, and R2's unreadable span. */
async function expectSettled(page: Page): Promise<void> {
  await expect(figure(page, seated, 'adjudicated')).toHaveText(percent(n1 - 4, n1 - 1));
  await expect(figure(page, hike, 'adjudicated')).toHaveText(percent(n2 - 4, n2 - 1));
  const settled = beats.map((b, i) => (i === given.movedByB ? b + 1 : b));
  const [marks] = await exported(page, 'Reviewed marks');
  expect(marks!.name).toBe('two-raters-band-adjudicated-S1-marks.csv');
  expect(column(marks!.bytes, 'sample').map(Number)).toEqual(settled);

  await page.keyboard.press('e');
  await page.getByTestId('export-source').selectOption({ label: 'each of them' });
  const arriving = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Results table', exact: true }).click();
  const results = await (await (await arriving).createReadStream()).toArray();
  const csv = Buffer.concat(results);
  const totals = csv
    .toString('utf8')
    .split('\r\n')
    .filter(line => line.includes(',total,'));
  expect(totals).toHaveLength(3);
  expect([...new Set(column(csv, 'rater'))].sort()).toEqual(['R1', 'R2', 'S1']);
  expect([...new Set(column(csv, 'role'))].sort()).toEqual(['adjudicator', 'rater']);
  await page.keyboard.press('Escape');
  const [audit] = await exported(page, 'Audit trail');
  const origins = column(audit!.bytes, 'origin');
  for (const origin of ['both', 'A', 'B', 'new']) expect(origins).toContain(origin);
  expect(audit!.bytes.toString('utf8')).toContain('"a small beat, but a beat"');
}

test('a bundle of other marks or another signal is refused with the difference named', async ({ page }) => {
  await openBundle(page, 'r1.zip', given.bundleOf([given.reviewOfR1()]), session.title);
  const [item] = session.recordings;
  const fewer = { ...session, recordings: [{ ...item!, detected: item!.detected.slice(1) }] };
  await take(page, 'fewer.zip', given.bundleOf([], fewer));
  await expect(page.getByText(/fewer\.zip was not imported.*detected marks differ/)).toBeVisible();
  await take(page, 'other.zip', given.bundleOf([given.reviewOfR2()], session, given.otherSignal()));
  await expect(
    page.getByText(/other\.zip was not imported.*the signal of recording band has another checksum/),
  ).toBeVisible();
  await expect(page.getByTestId('raters-two-raters')).toHaveText(/^R1: \d+ entries, finished$/);
});

test('the same rater at two times is compared like two raters', async ({ page }) => {
  await openBundle(page, 'r1.zip', given.bundleOf([given.reviewOfR1(), given.reviewOfR2('R1.2')]), session.title);
  await page.getByRole('link', { name: 'Compare with other reviews' }).click();
  await expect(page.getByText('the same rater at two times')).toBeVisible();
  await expectAgreement(page);
});

/** Every value that leaves the document store or the file system of the page, and every text it shows, as one string. */
async function watchReads(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const read: string[] = [];
    Object.assign(window, { read });
    const note = (request: IDBRequest) => {
      request.addEventListener('success', () => {
        const { result } = request;
        const value = result instanceof IDBCursor ? { key: result.key } : result;
        read.push(JSON.stringify(value) ?? '');
      });
      return request;
    };
    for (const name of ['get', 'getAll', 'openCursor'] as const) {
      const plain = IDBObjectStore.prototype[name] as (...args: unknown[]) => IDBRequest;
      Object.assign(IDBObjectStore.prototype, {
        [name](this: IDBObjectStore, ...args: unknown[]) {
          read.push(
            `asked: ${JSON.stringify(args[0] instanceof IDBKeyRange ? [args[0].lower, args[0].upper] : args[0])}`,
          );
          return note(plain.apply(this, args));
        },
      });
    }
  });
}

test('a blind rater’s page, reads and exports hold nothing of the other’s log', async ({ page }) => {
  const r1 = given.reviewOfR1();
  const secrets = [...r1.entries.map(e => e.hash), 'a lone mark on a T wave'];
  await page.goto('/');
  await page.getByTestId('rater-code').fill('R2');
  await take(page, 'both.zip', given.bundleOf([r1]));
  await expect(page.getByTestId('raters-two-raters')).toContainText('also by R1');
  await watchReads(page);
  await page.reload();
  // That R1 has a review may be said; nothing about it.
  await expect(page.getByTestId('raters-two-raters')).toHaveText('also by R1 Compare');
  await openSession(page);
  await goTo(page, beats[given.removedByB]! / rateHz);
  await page.keyboard.press('k');
  await saved(page);
  const text = await page.locator('body').textContent();
  for (const secret of [...secrets, 'R1']) expect(text).not.toContain(secret);

  const files = [
    ...(await exported(page, 'Results table', 2)),
    ...(await exported(page, 'Reviewed marks')),
    ...(await exported(page, 'RR intervals')),
    ...(await exported(page, 'Audit trail')),
    ...(await exported(page, 'EDF+ annotations')),
    ...(await exported(page, 'Session bundle')),
    ...(await exported(page, 'Bundle for a blind rater')),
  ];
  for (const file of files) {
    for (const secret of secrets) expect(file.bytes.includes(secret), `${secret} in ${file.name}`).toBe(false);
    expect(file.bytes.includes('logs/R1'), file.name).toBe(false);
    if (file.name.endsWith('.csv')) expect(file.bytes.includes('R1'), file.name).toBe(false);
  }

  const ratersIn = async (name: string) => {
    const { bytes } = files.find(f => f.name === name)!;
    const { reviewed } = await readBundle(fileSource(new File([new Uint8Array(bytes)], name)));
    return reviewed.logs.map(log => log.header.rater);
  };
  expect(await ratersIn('two-raters-R2.zip')).toEqual(['R2']);
  expect(await ratersIn('two-raters-for-blind-rating.zip')).toEqual([]);

  await page.evaluate(() => {
    location.hash = '#/compare/two-raters';
  });
  await expect(page.getByTestId('closed')).toContainText('The review of R2 is not finished');
  await page.getByTestId('supervisor-code').fill('S1');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('alert')).toContainText('R2 is still rating this session');
  const read = await page.evaluate(() => (window as unknown as { read: string[] }).read);
  expect(read.length).toBeGreaterThan(10);
  const asked = read.filter(r => r.startsWith('asked: '));
  expect(asked.filter(r => /"(entry|folded)"/.test(r) && r.includes('"R2"')).length).toBeGreaterThan(0);
  expect(asked.filter(r => /"(entry|folded)"/.test(r) && r.includes('"R1"'))).toEqual([]);
  for (const secret of secrets) expect(read.filter(r => r.includes(secret))).toEqual([]);
});

test('the protocol is a key away and can be changed for the session', async ({ page }) => {
  await openBundle(page, 'r1.zip', given.bundleOf([]), session.title);
  await page.keyboard.press('m');
  await expect(page.getByTestId('protocol')).toContainText('What counts as a mistake');
  await page.getByRole('button', { name: 'Change …' }).click();
  await page.locator('textarea').fill('House rules\n\n# In doubt\n- Ask the radio.');
  await page.getByRole('button', { name: 'Save for this session' }).click();
  await expect(page.getByTestId('protocol')).toHaveText('In doubtAsk the radio.');
  await expect(page.getByRole('dialog')).toContainText('What counts as looked at');
  await page.reload();
  await ready(page);
  await page.keyboard.press('m');
  await expect(page.getByRole('heading', { name: 'House rules' })).toBeVisible();
  await page.getByRole('button', { name: 'Reset to the study’s or the default protocol' }).click();
  await expect(page.getByTestId('protocol')).toContainText('What counts as a mistake');
});
