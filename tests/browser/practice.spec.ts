import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, type Page, test } from '@playwright/test';
import { append, canonicalJson, newLog, sha256Hex } from '../../src/core/marks/log';
import { simulatedLesson } from '../../src/core/review/practice/practice-lesson';
import { logHeader } from '../../src/core/review/session';
import { makeLesson } from '../../src/core/simulate/lessons';
import type { SampleIndex } from '../../src/core/units';
import { writeBundle } from '../../src/formats/bundle/writer';
import { sound } from './axe';
import { fiveMinutes } from './five-minutes';
import { chooseCode, goTo, pressInARow, ready, saved, times } from './page';

const name = { id: 'mixed', seed: 'class-a', difficulty: 2 } as const;
const { item, key } = simulatedLesson(name);
const { planted } = makeLesson(name.id, name.seed, name.difficulty).key;
const rateHz = item.recording.samplingRateHz;
const places = key.places.filter(p => p.kind !== 'ectopic');
const points = 10 * places.length;
const count = (kind: string) => places.filter(p => p.kind === kind).length;

async function openLesson(page: Page): Promise<void> {
  await page.goto(`/#/practice/${name.id}/${name.difficulty}/${name.seed}`);
  await ready(page);
}

async function done(page: Page): Promise<void> {
  await page.keyboard.press('d');
  await expect(page.getByRole('button', { name: 'Grade it' })).toBeFocused();
  await page.keyboard.press('Enter');
  await expect(page.getByTestId('points')).toBeVisible();
}

/** Puts the caret on a detected mark: the time typed may fall beside it by rounding. */
async function standOn(page: Page, mark: number): Promise<void> {
  await goTo(page, mark / rateHz);
  await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('ArrowRight');
  await expect(page.getByTestId('beat-description')).toContainText((mark / rateHz).toFixed(3));
}

async function putRight(page: Page, place: (typeof places)[number]): Promise<void> {
  if (place.kind === 'unreadable') {
    await goTo(page, place.span.start / rateHz);
    await page.keyboard.press('u');
    await goTo(page, place.span.end / rateHz);
    await page.keyboard.press('u');
    return;
  }
  if (place.mark !== null) {
    await standOn(page, place.mark);
    await page.keyboard.press('Delete');
  }
  if (place.beat !== null) {
    await goTo(page, place.beat / rateHz);
    await page.keyboard.press('Shift+I');
  }
}

function counts(page: Page) {
  return page.getByTestId('counts');
}

function cellOf(page: Page, table: string, row: string, cell: string) {
  return page.getByTestId(table).locator(`tr[data-row="${row}"] [data-cell="${cell}"]`);
}

async function resultsFile(page: Page): Promise<string> {
  const arriving = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save the results file' }).click();
  return readFileSync(await (await arriving).path(), 'utf8');
}

async function check(page: Page, text: string): Promise<void> {
  await page.goto('/#/practice');
  const file = { name: 'handed-in.json', mimeType: 'application/json', buffer: Buffer.from(text) };
  await page.getByTestId('results-input').setInputFiles(file);
}

// source: the mistakes planted in the lesson of that seed.
test('a second Enter on the button that grades a lesson is not refused', async ({ page }) => {
  await openLesson(page);
  await page.keyboard.press('d');
  await expect(page.getByRole('button', { name: 'Grade it' })).toBeFocused();
  for (let i = 0; i < 2; i++) await page.keyboard.press('Enter');
  await expect(page.getByTestId('points')).toBeVisible();
  await expect(page.getByTestId('said')).toHaveText('');
});

test('a learner who finds nothing overlooks exactly what was planted', async ({ page }) => {
  expect(planted).toHaveLength(10);
  await openLesson(page);
  await done(page);
  await expect(page.getByTestId('points')).toHaveText(`0 of ${points} points`);
  await expect(counts(page)).toHaveText(
    `0 found, ${places.length} overlooked, 0 wrongly placed, 0 false alarms, 0 hints`,
  );
  for (const [kind, words] of [
    ['missed', 'missed peak'],
    ['wrongPeak', 'wrong peak'],
    ['extra', 'extra mark'],
    ['shifted', 'mark beside the peak'],
    ['unreadable', 'unreadable stretch'],
  ] as const) {
    await expect(cellOf(page, 'by-kind', words, 'overlooked')).toHaveText(String(count(kind)));
  }
});

test('a learner who removes every mark finds the extra ones only, and every right mark is a false alarm', async ({
  page,
}) => {
  const misplaced = new Set(planted.map(p => p.beat));
  const right = [...key.beats].filter(
    b => !misplaced.has(b as never) && !key.unreadable.some(u => b >= u.start && b < u.end),
  );
  test.slow();
  await openLesson(page);
  await page.keyboard.press('Home');
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('ArrowLeft');
  await pressInARow(page, times(item.detected.length, 'Delete', 'ArrowRight'));
  await saved(page);
  await done(page);
  const wronglyPlaced = count('wrongPeak') + count('shifted');
  const overlooked = count('missed') + count('unreadable');
  await expect(counts(page)).toHaveText(
    `${count('extra')} found, ${overlooked} overlooked, ${wronglyPlaced} wrongly placed, ${right.length} false alarms, 0 hints`,
  );
  await expect(page.getByTestId('points')).toHaveText(`0 of ${points} points`);
});

test('a learner who calls everything unreadable meets no edges, with a false alarm for each other stretch', async ({
  page,
}) => {
  await openLesson(page);
  for (const key_ of ['Home', 'u', 'End', 'u']) await page.keyboard.press(key_);
  await saved(page);
  await done(page);
  const stretches = count('unreadable');
  await expect(counts(page)).toHaveText(
    `0 found, ${places.length - stretches} overlooked, ${stretches} wrongly placed, ${stretches + 1} false alarms, 0 hints`,
  );
});

test('a perfect learner, reloading in the middle, earns every point; the file handed in is checked', async ({
  page,
}) => {
  await openLesson(page);
  const half = places.length >> 1;
  for (const place of places.slice(0, half)) await putRight(page, place);
  await saved(page);
  const entries = Number(/\d+/.exec((await page.getByTestId('saving').textContent())!)![0]);
  await page.goto('/#/');
  await expect(page.getByRole('heading', { name: 'Beat Ledger' })).toBeVisible();
  await expect(page.getByText('All kinds mixed')).toHaveCount(0);
  await page.goto('/#/practice');
  await page.getByRole('link', { name: 'Continue All kinds mixed' }).click();
  await ready(page);
  await page.reload();
  await ready(page);
  const after = Number(/\d+/.exec((await page.getByTestId('saving').textContent())!)![0]);
  expect(after).toBeGreaterThanOrEqual(entries);
  for (const place of places.slice(half)) await putRight(page, place);
  await saved(page);
  await done(page);

  await expect(page.getByTestId('points')).toHaveText(`${points} of ${points} points`);
  await expect(counts(page)).toHaveText(
    `${places.length} found, 0 overlooked, 0 wrongly placed, 0 false alarms, 0 hints`,
  );
  for (const half_ of ['first half', 'second half']) {
    await expect(cellOf(page, 'by-segment', half_, 'false alarms')).toHaveText('0');
  }
  const text = await resultsFile(page);
  await page.reload();
  await expect(page.getByTestId('points')).toHaveText(`${points} of ${points} points`);

  await check(page, text);
  const table = page.getByTestId('checked');
  await expect(table).toContainText('agrees with its log and seed');
  await expect(table).toContainText(`${points} of ${points}`);
  await expect(page.getByTestId('progress').getByRole('img')).toHaveAccessibleName(/100 % at difficulty 2$/);
  await expect(page.getByText('done once, last time 100 % of the points')).toBeVisible();
});

test('hints cost points and cannot be taken back; a file with them removed is refused', async ({ page }) => {
  await openLesson(page);
  await page.keyboard.press('h');
  await expect(page.getByTestId('hints')).toContainText('1 taken, −1 points');
  await expect(page.getByTestId('hints')).toContainText('something in this stretch is not right');
  for (const cost of [2, 3]) {
    await page.keyboard.press('h');
    await expect(page.getByTestId('hints')).toContainText(`1 taken, −${cost} points`);
  }
  await page.keyboard.press('h');
  await expect(page.getByTestId('hints')).toContainText('2 taken, −4 points');
  await page.keyboard.press('z');
  await expect(page.getByTestId('said')).toHaveText('Nothing to undo.');
  await putRight(page, places[0]!);
  await putRight(page, places[1]!);
  await saved(page);
  await done(page);
  await expect(page.getByTestId('points')).toHaveText(`16 of ${points} points`);
  const text = await resultsFile(page);

  const { checksum: _, ...body } = JSON.parse(text);
  const grade = { ...body.grade, hints: 0, points: 20 };
  await check(page, text.replaceAll('"points":16', '"points":20'));
  await expect(page.getByTestId('checked')).toContainText('refused: The file was changed after it was written');
  const forged = { ...body, grade };
  const checksum = sha256Hex(new TextEncoder().encode(canonicalJson(forged)));
  await check(page, canonicalJson({ ...forged, checksum }));
  await expect(page.getByTestId('checked')).toContainText(
    'refused: The grade in the file is not what its log comes to',
  );
  const shorter = {
    ...forged,
    log: { ...body.log, entries: body.log.entries.filter((e: { intent: string }) => e.intent !== 'hint') },
  };
  const again = sha256Hex(new TextEncoder().encode(canonicalJson(shorter)));
  await check(page, canonicalJson({ ...shorter, checksum: again }));
  await expect(page.getByTestId('checked')).toContainText('refused: The log is damaged');
});

test('the answers are walked by keyboard, each with what gives it away, and take no edits', async ({ page }) => {
  await openLesson(page);
  await done(page);
  for (const [i, place] of places.entries()) {
    await page.keyboard.press('p');
    await expect(page.getByTestId('place')).toContainText(`${i + 1} of ${places.length}`);
    await expect(page.getByTestId('place')).toContainText(place.sentence);
  }
  await page.keyboard.press('p');
  await expect(page.getByTestId('said')).toHaveText('No more occurrences.');
  await page.keyboard.press('Shift+P');
  await expect(page.getByTestId('place')).toContainText(`${places.length - 1} of ${places.length}`);
  await page.keyboard.press('i');
  await expect(page.getByTestId('said')).toHaveText('this lesson is done and graded');
  await page.keyboard.press('Shift+O');
  await expect(page.getByRole('dialog')).toContainText('This lesson is done');
  await page.keyboard.press('Escape');
  await page.getByRole('button', { name: 'Take it again' }).click();
  await expect(page.getByTestId('lesson-task')).toBeVisible();
  await expect(page.getByTestId('hints')).toContainText('none taken');
  await ready(page);
  await done(page);
  await expect(page.getByText('Done before with this seed: your progress keeps the first time.')).toBeVisible();
});

test('a newcomer starts the first lesson from the start page with a seed that is shown', async ({ page }) => {
  await page.goto('/');
  await page.getByRole('link', { name: 'Practice' }).click();
  await page.getByTestId('seed').fill('Monday Class');
  await expect(page.getByTestId('seed')).toHaveValue('monday-class');
  await page.getByRole('button', { name: 'Start', exact: true }).press('Enter');
  await ready(page);
  await expect(page).toHaveURL(/#\/practice\/missed-peaks\/1\/monday-class$/);
  await expect(page.getByTestId('lesson-task')).toContainText('Some beats have no mark');
  await expect(page.getByTestId('queue')).toHaveCount(0);
});

// source: the 20 mistakes planted in the five minutes; the settled log puts every mark on a true beat.
test('a settled review kept here becomes a lesson, and its results can be checked where the session is', async ({
  page,
}) => {
  const { session, ecg, plant } = fiveMinutes();
  const beats = new Set<number>(ecg.beats);
  const marks = new Set<number>(plant.detected);
  const change = {
    op: 'marks',
    removed: [...plant.detected].filter(m => !beats.has(m)) as SampleIndex[],
    added: [...ecg.beats].filter(b => !marks.has(b)) as SampleIndex[],
  } as const;
  const at = '2026-09-20T10:00:00.000Z';
  const settled = append(newLog(logHeader(session, 'S1', 'adjudicator')), {
    at,
    recording: 'logger',
    intent: 'settle',
    change: [change],
  }).log;
  const { log } = append(settled, { at, recording: '', intent: 'finish', change: [] });
  const buffer = Buffer.from(writeBundle({ session, logs: [log] }, () => ecg.leads[0]!));
  await page.goto('/');
  await page.getByTestId('file-input').setInputFiles({ name: 'five-minutes.zip', mimeType: 'application/zip', buffer });
  await expect(page.getByRole('link', { name: session.title })).toBeVisible();

  await page.getByRole('link', { name: 'Practice' }).click();
  await expect(page.getByRole('combobox', { name: 'review' })).toContainText('adhesive logger: settled by S1');
  await page.getByRole('button', { name: 'Start on this one' }).press('Enter');
  // R1 has not rated this session, and could: asked first.
  await chooseCode(page, 'R1');
  await page.getByRole('button', { name: 'Show the reviews' }).click();
  await ready(page);
  await putRight(page, {
    kind: 'missed',
    mark: null,
    beat: plant.planted.find(p => p.kind === 'missed')!.beat,
  } as never);
  await saved(page);
  await done(page);
  await expect(counts(page)).toHaveText('1 found, 19 overlooked, 0 wrongly placed, 0 false alarms, 0 hints');
  await expect(page.getByTestId('points')).toHaveText('10 of 200 points');
  const text = await resultsFile(page);
  await check(page, text);
  await expect(page.getByTestId('checked')).toContainText('agrees with its log and the review stored here');

  // Who has begun to rate the session stays blind: it is no lesson for them any more.
  await page.goto(`/#/review/${session.id}`);
  await ready(page);
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('k');
  await saved(page);
  await page.goto('/#/practice');
  await expect(page.getByText('whose review is finished or settled appear here')).toBeVisible();
  await expect(page.getByRole('combobox', { name: 'review' })).toHaveCount(0);
});

test('the practice screens have no barrier that axe can find', async ({ page }) => {
  await page.goto('/#/practice');
  await expect(page.getByTestId('seed')).not.toHaveValue('');
  await sound(page, 'the choice of a lesson');
  await openLesson(page);
  await page.keyboard.press('h');
  await sound(page, 'a lesson with a hint');
  await done(page);
  await page.keyboard.press('p');
  await sound(page, 'a lesson that was graded');
});

test('a lesson keeps its segments and settings, and is never listed as a session', async ({ page }) => {
  await openLesson(page);
  for (const key_ of ['e', 'Shift+G']) {
    await page.keyboard.press(key_);
    await expect(page.getByRole('dialog', { name: 'Not in a lesson' })).toBeVisible();
    await page.keyboard.press('Escape');
  }
  await page.keyboard.press('Shift+S');
  await expect(page.getByRole('dialog', { name: 'Settings' })).toBeVisible();
  await expect(page.getByText('a mark is on the peak within')).toHaveCount(0);
  await page.keyboard.press('Escape');
  await page.keyboard.press('?');
  await expect(page.getByRole('dialog')).toContainText('hint: where to look');
  await page.goto('/#/');
  await expect(page.getByRole('heading', { name: 'Sample sessions' })).toBeVisible();
  await expect(page.getByText('Sessions in this browser')).toHaveCount(0);
});

test('a class file opens its lessons, and files handed in become a table of the class', async ({ page }, info) => {
  await page.goto('/#/practice');
  await page.getByText('For teachers: give a class its lessons').click();
  const form = page.getByTestId('class-form');
  await form.getByLabel('title').fill('Course');
  for (const seed of ['class-a', 'class-b']) {
    await form.getByTestId('class-seed').fill(seed);
    await form.getByLabel('lesson').selectOption(name.id);
    await form.getByRole('button', { name: 'Add the lesson' }).click();
  }
  const arriving = page.waitForEvent('download');
  await form.getByRole('button', { name: 'Save the class file' }).click();
  const classFile = info.outputPath('class.json');
  await (await arriving).saveAs(classFile);
  await page.reload();
  await page.getByTestId('class-input').setInputFiles(classFile);
  await chooseCode(page, 'L1');
  await expect(page.getByRole('heading', { name: 'Course' })).toBeVisible();
  const lessons = page.getByTestId('class-lessons').getByRole('row');
  await expect(lessons.nth(2)).toContainText('the lesson before it comes first');
  await page.getByRole('link', { name: /seed class-a/ }).click();
  await ready(page);
  await done(page);
  const text = await resultsFile(page);
  expect(JSON.parse(text)).toMatchObject({ version: 4, attempts: [{ points: 0 }] });

  await page.goto('/#/practice');
  const buffer = Buffer.from(text);
  const handedIn = ['a.json', 'b.json'].map(file => ({ name: file, mimeType: 'application/json', buffer }));
  await page.getByTestId('results-input').setInputFiles(handedIn);
  await page.getByTestId('judge-input').setInputFiles(classFile);
  const table = page.getByTestId('class-table');
  await expect(table).toContainText('not passed; same attempt handed in 2 times');
  await expect(page.getByTestId('hardest-places')).toContainText('0 of 1');
  await table.getByRole('button', { name: 'best attempt' }).click();
  await expect(table.getByRole('columnheader', { name: 'best attempt' })).toHaveAttribute('aria-sort', 'ascending');
});

test('a worked example is walked before the first lesson, and counts as none', async ({ page }) => {
  await page.goto('/#/practice');
  await page.getByRole('link', { name: 'See a worked example' }).click();
  await chooseCode(page, 'L1');
  await expect(page.getByTestId('worked-example')).toContainText('have been put right');
  await page.keyboard.press('p');
  await expect(page.getByTestId('place')).toContainText(/^1 of \d+.*found/);
  await expect(page.getByTestId('place').locator('kbd').first()).toBeVisible();
  await page.keyboard.press('ArrowRight');
  await page.keyboard.press('Delete');
  await expect(page.getByTestId('said')).toHaveText('this is a worked example');
  await page.getByRole('link', { name: 'To the lessons' }).click();
  await expect(page.getByTestId('seed')).toBeVisible();
  await expect(page.getByText('Started, not finished')).toHaveCount(0);
  await expect(page.getByText(/^done once/)).toHaveCount(0);
});

test('a study may require practice: until then its reviews are read-only, and say what is missing', async ({
  page,
}) => {
  await page.goto('/#/study');
  await page.getByTestId('study-file').setInputFiles(join(import.meta.dirname, '../stored/study-2.zip'));
  await expect(page.getByTestId('study-totals')).toContainText('2 reviewed');
  const study = page.url();
  const share = page.getByLabel('practice before a review can be changed');
  const save = page.getByRole('button', { name: 'Save these' });
  await share.fill('120');
  await expect(save).toBeDisabled();
  await share.fill('70');
  await page.getByLabel('at difficulty, or more').selectOption('2 of 5');
  await save.click();
  await expect(page.getByText('Saved for every session of the study.')).toBeVisible();

  await page.goto('/#/review/V01-training-day');
  await chooseCode(page, 'R9');
  const told = page.getByText(
    'read-only: this study asks for practice first: 70 % in a lesson of difficulty 2 or more',
  );
  await expect(told).toBeVisible();
  await page.keyboard.press('Delete');
  await expect(page.getByText('this study asks for practice first')).toHaveCount(2);
  // However early the key comes: here in the very turn in which the review appears.
  await page.addInitScript(() => {
    new MutationObserver((_, observer) => {
      if (!document.querySelector('[data-testid="said"]')) return;
      observer.disconnect();
      document.body.dispatchEvent(new KeyboardEvent('keydown', { key: 'Delete', code: 'Delete', bubbles: true }));
    }).observe(document, { childList: true, subtree: true });
  });
  await page.reload();
  await expect(page.getByText('this study asks for practice first')).toHaveCount(2);
  // Nothing that would be refused is offered.
  const keys = page.getByRole('group', { name: 'What the keys do now' });
  await expect(keys).toContainText('next mark');
  await expect(keys).not.toContainText(/remove|insert|accept|undo/);
  await expect(page.getByTestId('guide')).toHaveCount(0);

  await page.goto(study);
  await page.getByLabel('practice before a review can be changed').fill('');
  await page.getByRole('button', { name: 'Save these' }).click();
  await expect(page.getByText('Saved for every session of the study.')).toBeVisible();
  await page.goto('/#/review/V01-training-day');
  await expect(page.getByTestId('saving')).toBeVisible();
});
