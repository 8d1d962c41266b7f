import type { ReviewWorkspace } from '../review/workspace';

/** Entries that the newest copy outside the browser holds, by open review. */
export const copied = new WeakMap<ReviewWorkspace, number>();
/** What looks again when a review has been copied. */
export const onCopied = new WeakMap<ReviewWorkspace, () => void>();
/** Reviews with entries that nothing but this tab holds. */
export const atRisk = new Set<string>();

export function noteCopied(workspace: ReviewWorkspace, entries: number): void {
  copied.set(workspace, entries);
  if (entries === workspace.review.get().log.entries.length) atRisk.delete(nameOf(workspace));
  onCopied.get(workspace)?.();
}

export const nameOf = (workspace: ReviewWorkspace) => {
  const { session, rater } = workspace.review.get().log.header;
  return `${session}/${rater}`;
};
