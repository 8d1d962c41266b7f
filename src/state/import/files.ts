import { isNpz } from '../../formats/arrays/npz-kind';
import { beginsAsReview, reviewBeginningBytes } from '../../formats/bundle/review-file';
import { fileSource } from '../../formats/bytes/source';
import { FormatError } from '../../formats/format-error';
import { handoverKind } from '../../formats/handover/listed-zip';
import { readZipDirectory } from '../../formats/zip/directory';
import { errorMessage } from '../error-message';
import { type Unlocking, unlockedFile } from '../export/locking';
import { type Receiving, takeAssignment } from '../handover/receiving';
import { takeReturn } from '../handover/taking-back';
import { importBundle, type TakingBundles } from './bundle';
import type { Importing } from './importing';
import { nothingNew } from './merging';
import { importReviewFile, offerIntactReviews } from './reviews';

type TakingFiles = Receiving & Unlocking & { readonly importing: Pick<Importing, 'take'> };

/**
 * Takes in files of any kind the page reads: bundles, assignments and returns at once (answers the ids of the sessions
 * stored; what goes wrong is said as a notice), any others through the import sheet.
 */
export async function importFiles(app: TakingFiles, files: readonly File[]): Promise<readonly string[]> {
  const taken: string[] = [];
  const others: File[] = [];
  const done = collectDone(app);
  for (const given of files) {
    try {
      const file = await unlockedFile(app, given);
      const beginning = new Uint8Array(await file.slice(0, reviewBeginningBytes).arrayBuffer());
      if (isZip(beginning) && !(await holdsArrays(file))) taken.push(...(await takeZip(done.app, file)));
      else if (beginsAsReview(beginning)) taken.push(await importReviewFile(done.app, file));
      else others.push(file);
    } catch (error) {
      app.ui.notify(errorMessage(error));
    }
  }
  for (const words of inOneNotice(done.finish())) app.ui.notify(words, 'done');
  if (others.length > 0) await app.importing.take(others);
  return taken;
}

/** The page with notices of what is done put aside, so that many files do not make a notice each. */
function collectDone(app: TakingFiles): { readonly app: TakingFiles; readonly finish: () => readonly string[] } {
  const said: string[] = [];
  let finished = false;
  const notify: TakingFiles['ui']['notify'] = (text, kind, action, lasting) => {
    // An offer that was made on the way may be taken up long afterwards.
    if (finished || kind !== 'done' || action || lasting) return app.ui.notify(text, kind, action, lasting);
    said.push(text);
    return 0;
  };
  const finish = () => {
    finished = true;
    return said;
  };
  return { app: { ...app, importing: app.importing, ui: { ...app.ui, notify } }, finish };
}

/** A few notices as they are; of many, one that counts those that brought nothing and names the first of the others. */
export function inOneNotice(said: readonly string[]): readonly string[] {
  if (said.length <= fewNotices) return said;
  const brought = said.filter(words => !words.endsWith(nothingNew));
  const nothing = said.length - brought.length;
  const parts = nothing > 0 ? [`${nothing} ${nothing === 1 ? 'file' : 'files'} with nothing new.`] : [];
  parts.push(...brought.slice(0, namedNotices));
  if (brought.length > namedNotices) parts.push(`And ${brought.length - namedNotices} more.`);
  return [parts.join(' ')];
}

const fewNotices = 2;
const namedNotices = 4;

/** A session bundle, an assignment, or work returned from one. */
async function takeZip(app: Receiving, file: File): Promise<readonly string[]> {
  const kind = await handoverKind(fileSource(file)).catch(() => null);
  if (kind === 'assignment') return takeAssignment(app, file);
  if (kind === 'return') return takeReturn(app, file);
  return importBundleOrOfferIntact(app, file);
}

async function importBundleOrOfferIntact(app: TakingBundles, file: File): Promise<readonly string[]> {
  try {
    return [await importBundle(app, file)];
  } catch (error) {
    if (!(error instanceof FormatError)) throw error;
    await offerIntactReviews(app, file, error);
    return [];
  }
}

/** NumPy keeps several arrays in a zip. */
async function holdsArrays(file: File): Promise<boolean> {
  return isNpz(await readZipDirectory(fileSource(file)).catch(() => []));
}

/** Zip files begin with 'PK', 3, 4. */
function isZip([p, k, three, four]: Uint8Array): boolean {
  return p === 0x50 && k === 0x4b && three === 3 && four === 4;
}
