import type { FeedbackItem } from '../../state/practice/feedback';
import { hashOfScreen } from '../../state/stores/ui-store';
import { KeyCap } from '../controls/key';

/** What a worked example is, and the way from it to the first lesson. */
export function ExampleIntro({ places }: { places: number }) {
  return (
    <section aria-label="Worked example" data-testid="worked-example">
      <h2>Worked example</h2>
      <p>
        All {places} places here have been put right. The lane “as detected” shows what the recorder marked, “as
        reviewed” what is right. Walk through them: each says what was wrong, what gave it away, and which keys put it
        right.
      </p>
      <p>
        <a className="button" href={hashOfScreen({ name: 'practice', task: [] })}>
          To the lessons
        </a>
      </p>
    </section>
  );
}

/** Commands that put a kind of place right, in order, and what they do there. */
const how: Readonly<Record<string, { readonly commands: readonly string[]; readonly words: string }>> = {
  'missed peak': { commands: ['mark.insert'], words: 'with the caret at the beat, inserts the mark on its R peak.' },
  'wrong peak': {
    commands: ['mark.remove', 'mark.insert'],
    words: 'remove the mark, then, with the caret at the beat, insert one on its R peak.',
  },
  'mark beside the peak': { commands: ['mark.snap'], words: 'snaps the mark to the R peak.' },
  'extra mark': { commands: ['mark.remove'], words: 'removes the mark.' },
  'unreadable stretch': {
    commands: ['span.unreadable', 'span.unreadable'],
    words: 'at the last beat you are sure of, and again at the next one, marks the stretch between.',
  },
  'early beat': { commands: ['mark.keep'], words: 'keeps the mark: the beat is unusual, and rightly marked.' },
};

export function HowPutRight({ item }: { item: FeedbackItem }) {
  const way = how[item.what];
  if (!way) return null;
  return (
    <p>
      {way.commands.map((id, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the same key may be pressed twice in a row
        <span key={`${id} ${i}`}>
          <KeyCap id={id} />{' '}
        </span>
      ))}
      {way.words}
    </p>
  );
}
