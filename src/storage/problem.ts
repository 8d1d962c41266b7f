/** What went wrong with the browser's storage, in a form the page can show and act on. */
export type StorageProblemKind =
  /** The browser's quota or the disk is full. */
  | 'full'
  /** The browser does not let this page store anything, or its store cannot be opened. */
  | 'denied'
  /** Another tab holds the store and does not release it. */
  | 'blocked'
  /** The store was emptied or replaced while this page was open. */
  | 'gone'
  /** A newer version of the page has written the store. */
  | 'newer'
  /** Another tab has written at the same place. */
  | 'conflict'
  /** What was written to was removed, by another tab. */
  | 'removed';

const wording: Record<StorageProblemKind, readonly [message: string, remedy: string]> = {
  full: ['The browser has no room left for this page.', 'Export a bundle, then delete sessions or free disk space.'],
  denied: [
    'The browser does not let this page store anything.',
    'Allow site data for this page (a private window often does not), or export a bundle before closing.',
  ],
  blocked: ['Another tab holds the store.', 'Close the other tabs of this page, then try again.'],
  gone: [
    'The store of this page was emptied while it was open.',
    'What is on the screen is still in memory: export a bundle, then reload.',
  ],
  newer: ['The store was written by a newer version of this page.', 'Reload to get the newer version.'],
  conflict: [
    'Another tab has written to this review.',
    'Reload to see what it wrote; export a bundle first if unsure.',
  ],
  removed: [
    'Another tab has removed this review.',
    'What is on the screen is still in memory: export a bundle, then open it again.',
  ],
};

export class StorageProblem extends Error {
  override readonly name = 'StorageProblem';

  constructor(
    readonly kind: StorageProblemKind,
    /** The browser's own words, for the record; empty when there are none. */
    readonly detail: string = '',
  ) {
    super(detail ? `${wording[kind][0].slice(0, -1)} (${detail}).` : wording[kind][0]);
  }

  /** What the person can do about it. */
  get remedy(): string {
    return wording[this.kind][1];
  }
}

const kindByName: Readonly<Record<string, StorageProblemKind>> = {
  QuotaExceededError: 'full',
  SecurityError: 'denied',
  NotAllowedError: 'denied',
  UnknownError: 'denied',
  TimeoutError: 'blocked',
  NoModificationAllowedError: 'blocked',
  ConstraintError: 'conflict',
  VersionError: 'newer',
  AbortError: 'gone',
  InvalidStateError: 'gone',
  NotFoundError: 'gone',
  NotReadableError: 'gone',
};

/** Turns what the browser threw into a StorageProblem; anything that is not about storage passes through. */
export function asStorageProblem(error: unknown): unknown {
  if (error instanceof StorageProblem) return error;
  if (error === null || error === undefined) return new StorageProblem('gone', 'the transaction was aborted');
  if (!(error instanceof Error)) return error;
  const kind = kindByName[error.name];
  return kind === undefined ? error : new StorageProblem(kind, error.message);
}
