import { once } from 'node:events';
import { createWriteStream, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, type Page, type TestInfo } from '@playwright/test';
import type { Marks } from '../../src/core/marks/markset';
import { toAnnotations } from '../../src/formats/edf/annotations';
import { edfFile } from '../../src/formats/edf/writer';
import { longRecording } from '../bench/long-recording';

/** What a person does in the import sheet, in words the journeys can use. */

export interface GivenFile {
  readonly name: string;
  readonly mimeType: string;
  readonly buffer: Buffer;
}

const folder = join(import.meta.dirname, '../../sample-sessions/files');

export function sampleFile(name: string, as = name): GivenFile {
  return { name: as, mimeType: '', buffer: readFileSync(join(folder, name)) };
}

/** The browser takes a file from the disk at once; bytes passed on in a message take seconds. */
export function onDisk(info: TestInfo, name: string, content: string | Uint8Array): string {
  const path = info.outputPath(name);
  writeFileSync(path, content);
  return path;
}

/** Gives files to the start page and waits until each has been looked at. */
export async function giveFiles(page: Page, files: readonly GivenFile[] | string): Promise<void> {
  await page.goto('/');
  await page.getByTestId('file-input').setInputFiles(typeof files === 'string' ? files : [...files]);
  const rows = page.getByTestId('import-file');
  await expect(rows).toHaveCount(typeof files === 'string' ? 1 : files.length);
  await expect(rows.filter({ hasText: 'being read' })).toHaveCount(0);
}

export function fileRow(page: Page, name: string) {
  return page.getByRole('region', { name, exact: true });
}

/** Presses Read and waits for what came out. */
export async function readFiles(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Read', exact: true }).click();
  await expect(page.getByRole('heading', { name: 'What was read' })).toBeVisible();
}

export function recorder(page: Page, name: string) {
  return page.getByRole('region', { name, exact: true });
}

/** A fact of the summary: length, leads, gaps, marks, segments. */
export function fact(page: Page, recorderName: string, name: string) {
  return recorder(page, recorderName).locator(`dt:text-is("${name}") + dd`);
}

export async function keepAndOpen(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Save and open' }).click();
  await expect(page.getByRole('dialog')).toHaveCount(0);
}

/** Writes a simulated EDF+ of some hours, with its beats as annotations when asked. */
export async function writeLongEdf(
  path: string,
  hours: number,
  rateHz: number,
  leadCount: number,
  withMarks: boolean,
): Promise<Marks> {
  const { recording, leads, beats } = longRecording(hours, rateHz, leadCount);
  const annotations = withMarks ? toAnnotations(beats, [], rateHz) : [];
  const file = await edfFile({ recording, leads, annotations, participant: 'V00' });
  const stream = createWriteStream(path);
  for await (const block of file.blocks()) if (!stream.write(block)) await once(stream, 'drain');
  stream.end();
  await once(stream, 'finish');
  return beats;
}

/**
 * From the next page on, what workers answer can be held back: jobs stay in the middle, while what they tell on the way
 * still arrives. `whenSeen` with 'hold' begins it.
 */
export async function canHold(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const held: { waiting: (() => void)[] | null } = { waiting: null };
    const Real = Worker;
    class Holding extends Real {
      override addEventListener(kind: string, listener: EventListenerOrEventListenerObject): void {
        const told = (event: Event) => ('handleEvent' in listener ? listener.handleEvent(event) : listener(event));
        super.addEventListener(kind, event => {
          if (kind === 'message' && held.waiting) held.waiting.push(() => told(event));
          else told(event);
        });
      }
    }
    Object.assign(window, { Worker: Holding, held });
  });
}

/** What was held back arrives. */
export async function letGo(page: Page): Promise<void> {
  await page.evaluate(() => {
    const { held } = window as unknown as { held: { waiting: (() => void)[] | null } };
    const waiting = held.waiting ?? [];
    held.waiting = null;
    for (const arrive of waiting) arrive();
  });
}

/** Does something on the page at the very moment that an element appears. */
export async function whenSeen(page: Page, selector: string, act: 'click' | 'reload' | 'hold'): Promise<void> {
  await page.evaluate(
    ([what, how]) => {
      const observer = new MutationObserver(() => {
        const found = document.querySelector<HTMLElement>(what!);
        if (!found) return;
        observer.disconnect();
        if (how === 'click') found.click();
        else if (how === 'reload') location.reload();
        else Object.assign((window as unknown as { held: object }).held, { waiting: [] });
      });
      observer.observe(document.body, { childList: true, subtree: true });
    },
    [selector, act],
  );
}
