import { useEffect, useState } from 'react';
import { isFinished } from '../../core/review/raters/blind';
import { hashOfScreen } from '../../state/stores/ui-store';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp, usePart } from '../app-context';

interface Reviews {
  /** The own review in words; '' when there is none. */
  readonly own: string;
  readonly others: readonly string[];
}

/**
 * Who has reviewed a session. Of the own review its state; of others only that they exist, so that nobody is led by how
 * far or how they got. Nothing of another log is read for it.
 */
export function SessionRaters({ entry }: { entry: CatalogueEntry }) {
  const sessionId = entry.id;
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const [reviews, setReviews] = useState<Reviews>({ own: '', others: [] });
  useEffect(() => {
    let gone = false;
    const read = async () => {
      const codes = await app.library.raters(entry.id);
      const log = codes.includes(rater) ? await app.library.log(entry.id, rater) : null;
      const own = log ? `${rater}: ${stateOf(log.entries.length, isFinished(log))}` : '';
      if (!gone) setReviews({ own, others: codes.filter(c => c !== rater) });
    };
    read().catch((error: Error) => app.ui.notify(error.message));
    return () => {
      gone = true;
    };
    // Read again whenever the list of sessions was: a bundle may have brought another review.
  }, [app, entry, rater]);
  const { own, others } = reviews;
  const parts = [own, others.length > 0 ? `also by ${others.join(', ')}` : ''].filter(p => p !== '');
  return (
    <span data-testid={`raters-${sessionId}`}>
      {parts.join(' · ') || <span className="soft">not begun</span>}
      {others.length > 0 && (
        <>
          {' '}
          <a href={hashOfScreen({ name: 'compare', sessionId })}>Compare</a>
        </>
      )}
    </span>
  );
}

function stateOf(entries: number, finished: boolean): string {
  const words = `${entries} ${entries === 1 ? 'entry' : 'entries'}`;
  return finished ? `${words}, finished` : words;
}
