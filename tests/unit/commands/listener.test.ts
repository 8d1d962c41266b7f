import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { listen } from '../../../src/commands/listener';
import { sceneOf } from '../../../src/commands/scene-now';
import { allCommands } from '../../../src/commands/scenes';
import type { ComparisonWorkspace } from '../../../src/state/compare/comparing';
import type { ReviewWorkspace } from '../../../src/state/review/workspace';
import { createPage } from '../state/page';
import { openComparison } from './comparison';
import { openWorkspace } from './workspace';

/** A key as the browser reports it; tells whether the page took it. */
function press(key: string, more: Partial<KeyboardEvent> = {}): boolean {
  const held = { shiftKey: false, ctrlKey: false, metaKey: false, altKey: false, repeat: false };
  const event = Object.assign(new Event('keydown', { cancelable: true }), { key, ...held, ...more });
  window.dispatchEvent(event);
  return event.defaultPrevented;
}

let page: ReturnType<typeof createPage>;
let stop: () => void;

beforeEach(() => {
  vi.stubGlobal('window', new EventTarget());
  vi.stubGlobal('Element', class {});
  page = createPage();
  stop = listen(
    page,
    () => allCommands,
    () => sceneOf(page),
  );
});

afterEach(() => {
  stop();
  vi.unstubAllGlobals();
});

const open = <D extends ReviewWorkspace>(workspace: D): D => {
  page.workspace.setState({ workspace });
  return workspace;
};

describe('before a review is open', () => {
  test('what works anywhere works here, and no other key does', () => {
    expect(press('k')).toBe(false);
    expect(page.ui.getState().said).toBe('');
    expect(press('?', { shiftKey: true })).toBe(true);
    expect(page.ui.getState().dialog).toBe('help');
    expect(press('!')).toBe(false);
    page.ui.openDialog(null);
    expect(press('!', { shiftKey: true })).toBe(true);
    expect(page.ui.getState().dialog).toBe('self-check');
  });

  test('a button of the page runs a command that needs no review', () => {
    page.runCommand('mark.keep');
    expect(page.ui.getState()).toMatchObject({ said: '', dialog: null });
    page.runCommand('help.open');
    expect(page.ui.getState().dialog).toBe('help');
  });
});

describe('a key held down', () => {
  test('steps from mark to mark', () => {
    const { view } = open(openWorkspace().workspace);
    for (let i = 0; i < 3; i++) expect(press('ArrowRight', { repeat: i > 0 })).toBe(true);
    expect(view.getState().caret).toBe(350);
  });

  test('judges once', () => {
    const { review } = open(openWorkspace().workspace);
    for (let i = 0; i < 5; i++) expect(press('Delete', { repeat: i > 0 })).toBe(true);
    expect(review.get().log.entries.map(e => e.intent)).toEqual(['delete']);
  });

  test('settles one difference, not all that follow', () => {
    const workspace: ComparisonWorkspace = open(openComparison());
    const settled = () =>
      workspace.review.get().log.entries.filter(e => e.intent === 'settle' && e.origin === 'A').length;
    press('n');
    for (let i = 0; i < 5; i++) press('a', { repeat: i > 0 });
    expect(settled()).toBe(1);
    press('a');
    expect(settled()).toBe(2);
  });

  test('at either end of the differences says which end it is', () => {
    open(openComparison(2));
    const words = (shiftKey = false) => {
      press(shiftKey ? 'N' : 'n', { shiftKey });
      return page.ui.getState().said;
    };
    expect([words(), words(), words()]).toEqual(['Difference 1 of 2', 'Difference 2 of 2', 'No further difference.']);
    expect([words(true), words(true)]).toEqual(['Difference 1 of 2', 'No difference before this one.']);
  });

  test('repeats only steps and nudges', () => {
    const repeating = allCommands.filter(c => c.repeats).map(c => c.id);
    expect(new Set(repeating.map(id => id.split('.')[0]))).toEqual(new Set(['mark', 'caret', 'row', 'zoom', 'gain']));
    for (const c of allCommands.filter(c => ['Judge', 'Settle', 'Suspicious places', 'Remark'].includes(c.group)))
      expect(c.repeats ?? false, c.id).toBe(false);
  });
});

describe('keys', () => {
  test('wait while a sheet is open, and when something else took the press', () => {
    const { review } = open(openWorkspace().workspace);
    page.ui.openDialog('comment');
    expect(press('Delete')).toBe(false);
    page.ui.openDialog(null);
    window.addEventListener('keydown', event => event.preventDefault(), { once: true, capture: true });
    stop();
    stop = listen(
      page,
      () => allCommands,
      () => sceneOf(page),
    );
    press('Delete');
    expect(review.get().log.entries).toEqual([]);
  });

  test('whose command can do nothing now say shortly what it needs', () => {
    const { view } = open(openWorkspace().workspace);
    view.setState({ caret: 77 as never });
    const words = (id: string) => {
      page.runCommand(id);
      return page.ui.getState().said;
    };
    expect(words('suspicion.take')).toBe('Nothing suspicious here.');
    expect(words('suspicion.dismiss')).toBe('Nothing suspicious here.');
    const conditional = allCommands.filter(c => c.scene !== 'anywhere' && c.when && !c.needs).map(c => c.id);
    expect(conditional).toEqual([]);
  });

  test('say why nothing happened, and clear what was said before', () => {
    const { view } = open(openWorkspace().workspace);
    view.setState({ caret: 77 as never });
    press('k');
    expect(page.ui.getState().said).toBe('No mark under the caret: step to one with the arrow keys.');
    press('ArrowRight');
    expect(page.ui.getState().said).toBe('');
  });
});
