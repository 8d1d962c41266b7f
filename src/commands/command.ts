import type { HasClocks } from '../state/clocks/fits';
import type { HasLibrary } from '../state/library';
import type { ReviewWorkspace } from '../state/review/workspace';
import type { PrefsStore } from '../state/stores/prefs-store';
import type { HasUi, UiParts } from '../state/stores/ui-store';

/**
 * Where a command means something. Two commands may share a key only when their scenes never meet. Practice is a review
 * with more to it: there, the commands of a review hold as well.
 */
export type Scene = 'review' | 'practice' | 'compare' | 'anywhere';

/** Where the hands are: in one of the scenes, or on a page without an open review. */
export type SceneNow = Exclude<Scene, 'anywhere'> | 'no review';

/** What commands need of the page. */
export interface CommandContext extends HasUi<UiParts>, HasClocks, HasLibrary {
  readonly prefs: Pick<PrefsStore, 'getState'>;
  /** The strip on the screen, if there is one. */
  readonly chart: { roomTaken(): number } | null;
  now(): Date;
}

export type Group =
  | 'Go'
  | 'Judge'
  | 'Sample'
  | 'Correct'
  | 'Suspicious places'
  | 'Remark'
  | 'Show'
  | 'Save and export'
  | 'Settle'
  | 'Practice';

/**
 * One thing a person can do. The same list feeds the key listener, the line of keys, the help sheet, the remapping
 * screen and the README's table.
 */
export type Command = ReviewCommand | PageCommand;

interface CommandFacts {
  /** Stable; remapped keys are kept under it. */
  readonly id: string;
  readonly title: string;
  readonly group: Group;
  /** As written by keyOf: 'k', 'Shift+k', 'Mod+z', 'ArrowLeft', '?'. */
  readonly keys: readonly string[];
  /** Why the hand can remember it. */
  readonly why: string;
  /**
   * Whether a key held down does it again and again. Absent means once: a held key must not judge page after page, or
   * settle difference after difference, that nobody has looked at.
   */
  readonly repeats?: boolean;
}

/** Acts on the open review. */
export interface ReviewCommand extends CommandFacts {
  readonly scene: Exclude<Scene, 'anywhere'>;
  /** Whether it can do something now; absent means always in its scene. */
  readonly when?: (workspace: ReviewWorkspace, app: CommandContext) => boolean;
  /** Whether the line of keys has it now, where that is not `when`: the key itself may find more than is shown yet. */
  readonly offered?: (workspace: ReviewWorkspace, app: CommandContext) => boolean;
  /** What it needs, said where it can do nothing now. */
  readonly needs?: string;
  /** Does it; false when there was nothing to do (a reason may have been said). */
  readonly run: (workspace: ReviewWorkspace, app: CommandContext) => boolean;
}

/** Needs no open review. */
export interface PageCommand extends CommandFacts {
  readonly scene: 'anywhere';
  readonly run: (app: CommandContext) => boolean;
}
