import { type Driver, until } from './driver';

const text = (testId: string) => `(document.querySelector('[data-testid^="${testId}"]')?.textContent ?? '')`;
const button = (name: string) =>
  `[...document.querySelectorAll('button')].find(b => b.textContent.trim() === '${name}')`;
/** Steps of the walk, in order, as they were done. */
export type Step = 'open' | 'correct' | 'reload' | 'export' | 'report' | 'print';

/** Opens a sample, corrects a mark, reloads, exports the marks, opens the report and prints it; what fails throws. */
export async function walk(driver: Driver, base: string, did: (step: Step) => void): Promise<void> {
  await driver.goto(base);
  await until(driver, 'the samples', button('V01, training day'));
  await driver.evaluate(`${button('V01, training day')}.click()`);
  await until(driver, 'the question for a code', 'document.activeElement?.dataset.testid === "own-code"');
  for (const key of ['R', '1', 'Enter']) await driver.press(key);
  await ready(driver);
  did('open');

  const before = await entries(driver);
  await driver.press('ArrowRight');
  await driver.press('Delete');
  await until(driver, 'the entry to be saved', `${entriesIn} > ${before} && ${text('saving')}.startsWith('saved')`);
  const ledger = await driver.evaluate<string>(text('ledger-'));
  did('correct');

  await driver.reload();
  await ready(driver);
  await until(driver, 'the same counts', `${text('ledger-')} === ${JSON.stringify(ledger)}`);
  did('reload');

  // The table comes with a file that says what it was made from.
  await driver.evaluate(
    '(() => { const make = URL.createObjectURL; URL.createObjectURL = b => { b.text().then(t => { window.exported = (window.exported ?? "") + t; }); return make.call(URL, b); }; })()',
  );
  await driver.press('e');
  await until(driver, 'the export sheet', button('Reviewed marks'));
  await driver.evaluate(`${button('Reviewed marks')}.click()`);
  await until(driver, 'the exported marks', "(window.exported ?? '').split('\\n').length > 100");
  await driver.press('Escape');
  did('export');

  const id = await driver.evaluate<string>("location.hash.split('/')[2]");
  await driver.goto(`${base}#/report/${id}`);
  await until(driver, 'the report', 'document.querySelector(\'[data-testid="report"]\')', 180_000);
  did('report');
  const printed = await driver.print();
  if (!printed) return;
  const pdf = Buffer.from(printed);
  if (pdf.subarray(0, 5).toString() !== '%PDF-' || pdf.length < 20_000) {
    throw new Error(`${driver.name}: printing the report gave ${pdf.length} bytes that are no whole PDF`);
  }
  did('print');
}

async function ready(driver: Driver): Promise<void> {
  await until(driver, 'the review', `${text('beat-description')}.length > 0 && ${text('saving')}`, 120_000);
}

const entriesIn = `Number(/saved, (\\d+)/.exec(${text('saving')})?.[1] ?? -1)`;

async function entries(driver: Driver): Promise<number> {
  await until(driver, 'all to be saved', `${entriesIn} >= 0`);
  return driver.evaluate<number>(entriesIn);
}
