import { expect, type Page, test } from '@playwright/test';
import { notSinusBeats } from '../../src/core/detector/sinus/not-sinus';
import { signalFeatures } from '../../src/core/detector/suspicion/features';
import { BeatClass } from '../../src/core/simulate/rhythm';
import { writeBundle } from '../../src/formats/bundle/writer';
import { fiveMinutes } from './five-minutes';
import { given, openBundle, saved } from './page';

const { session, bundle, ecg } = fiveMinutes(3);
const ventricular = [...ecg.beats].filter((_, k) => ecg.classes[k] === BeatClass.ventricular);

const said = (page: Page) => page.getByTestId('said');
const state = (page: Page) => page.getByTestId('not-sinus-state');

async function proposed(page: Page, of = { session, bundle }): Promise<number> {
  await openBundle(page, 'ectopic.zip', of.bundle, of.session.title);
  await page.keyboard.press('Shift+A');
  await expect(said(page)).toHaveText('No beat is proposed as not sinus here.');
  await page.keyboard.press('y');
  await expect(state(page)).toContainText('0 confirmed, 0 set aside. The list is not confirmed yet.');
  const words = await state(page).textContent();
  return Number(/^(\d+) proposed/.exec(words!)![1]);
}

test('proposed beats are walked by key: one confirmed, one set aside, the rest of a kind after its picture', async ({
  page,
}) => {
  const all = await proposed(page);
  expect(all).toBeGreaterThan(ventricular.length);
  await page.keyboard.press('y');
  await expect(said(page)).toHaveText(new RegExp(`^Not sinus\\? 1 of ${all}: `));
  await page.keyboard.press('Shift+K');
  await expect(said(page)).toHaveText(`Marked as not sinus, as proposed. ${all - 1} proposals are left.`);
  await expect(state(page)).toContainText(`${all - 1} left, 1 confirmed, 0 set aside.`);
  await page.keyboard.press('y');
  await page.keyboard.press('Shift+A');
  await expect(state(page)).toContainText(`${all - 2} left, 1 confirmed, 1 set aside.`);
  await page.keyboard.press('z');
  await expect(state(page)).toContainText(`${all - 1} left, 1 confirmed, 0 set aside.`);

  // A kind is decided only behind its picture; cancelled half-way, nothing is.
  await page
    .getByTestId('not-sinus')
    .getByRole('button', { name: /left: another shape/ })
    .click();
  await page.keyboard.press('Shift+D');
  const sheet = page.getByRole('dialog', { name: /beats of one kind: another shape$/ });
  await expect(sheet.locator('svg')).toBeVisible();
  await sheet.getByRole('button', { name: 'Cancel' }).click();
  await expect(state(page)).toContainText(`${all - 1} left, 1 confirmed`);
  await page.keyboard.press('Shift+D');
  await sheet.getByRole('button', { name: /^Mark \d+ beats as not sinus$/ }).click();
  await expect(sheet).toHaveCount(0);
  await expect(page.getByTestId('not-sinus').getByRole('button', { name: /left: another shape/ })).toHaveCount(0);

  // What is left one by one; then the same key confirms the list, once.
  for (let left = Number(/: (\d+) left/.exec((await state(page).textContent())!)![1]); left > 0; left--) {
    await page.keyboard.press('y');
    await page.keyboard.press('Shift+K');
    await expect(state(page)).toContainText(`: ${left - 1} left`);
  }
  await page.keyboard.press('y');
  await expect(said(page)).toHaveText(`List confirmed: ${all} beats are not sinus.`);
  await expect(state(page)).toContainText('The list is confirmed.');
  await page.keyboard.press('y');
  await expect(said(page)).toHaveText('The list of beats that are not sinus is confirmed.');

  // A mark moved since opens the list again around it, and undo closes it.
  await page.keyboard.press('.');
  await expect(state(page)).toContainText('The list is not confirmed yet.');
  await page.keyboard.press('z');
  await expect(state(page)).toContainText('The list is confirmed.');

  // The log says what was proposed, and by what.
  await saved(page);
  const { log } = await given(page);
  const changes = log.entries.flatMap(e => e.change);
  const marked = changes.filter(o => o.op === 'notSinus').flatMap(o => o.added as readonly number[]);
  expect(ventricular.filter(b => marked.includes(b)).length).toBeGreaterThanOrEqual(ventricular.length - 1);
  expect(changes.some(o => o.op === 'notSinus' && o.proposedBy?.startsWith('shape and timing'))).toBe(true);
  expect(changes.find(o => o.op === 'rhythmChecked')).toMatchObject({ added: [{ start: 0, end: ecg.sampleCount }] });
});

test('after a mark was changed the beats are looked at again', async ({ page }) => {
  const all = await proposed(page);
  await page.keyboard.press('y');
  await page.keyboard.press('Delete');
  const panel = page.getByTestId('not-sinus');
  await expect(panel.getByRole('button', { name: 'Look again: marks changed' })).toBeVisible();
  await expect(state(page)).toContainText(`${all - 1} left`);
  await page.keyboard.press('y');
  await expect(panel.getByRole('button', { name: 'Next proposed beat' })).toBeVisible();
});

// source: src/core/detector/sinus on the same words; the first lead alone cannot see that the axis changed
test('of a recorder with two leads both are looked at', async ({ page }) => {
  const two = fiveMinutes(3, 2);
  const reach = 0.1 * 250;
  const turned = [...two.ecg.beats].filter((_, k) => k % 29 === 4 && two.ecg.classes[k] === BeatClass.normal);
  const first = two.ecg.leads[0]!;
  for (const at of turned) for (let i = at - reach; i <= at + reach; i++) first[i] = -first[i]!;
  const signals = two.ecg.leads.map(words => ({ features: signalFeatures(words, 250), mvPerUnit: 0.005 }));
  const placesBy = (leads: typeof signals) => notSinusBeats(leads, two.plant.detected).map(b => b.at as number);
  expect(turned.length).toBeGreaterThan(8);
  const among = (places: readonly number[]) => places.filter(at => turned.includes(at)).length;
  expect(among(placesBy(signals.slice(0, 1)))).toBeGreaterThan(5);
  expect(among(placesBy(signals))).toBe(0);
  const changed = writeBundle({ session: two.session, logs: [] }, (_, lead) => two.ecg.leads[lead]!);
  expect(await proposed(page, { session: two.session, bundle: Buffer.from(changed) })).toBe(placesBy(signals).length);
});
