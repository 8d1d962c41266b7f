import { memo } from 'react';
import { wholePercent } from '../../core/review/standing/standing-words';
import { clock } from '../../state/clocks/text';
import type { SessionProgress } from '../../state/sessions/listing';
import { removeUnlessOpen } from '../../state/sessions/removing';
import { unsentSessions } from '../../state/sharing/lab-store';
import { hashOfScreen } from '../../state/stores/ui-store';
import type { CatalogueEntry } from '../../storage/sessions';
import { useApp, usePart } from '../app-context';
import { RemoveButton } from '../controls/remove-button';

const when = new Intl.DateTimeFormat(undefined, { dateStyle: 'medium', timeStyle: 'short' });

/** One session; `progress` is undefined until it was read. Memoised: typing in the search renders only a few again. */
export const SessionRow = memo(function SessionRow(props: {
  entry: CatalogueEntry;
  progress: SessionProgress | undefined;
  onChange: () => void;
}) {
  const { entry, progress, onChange } = props;
  const app = useApp();
  const remove = async () => {
    await removeUnlessOpen(app, entry);
    onChange();
  };
  const own = progress?.own;
  const isUnsent = usePart(app.labStore.store, s => unsentSessions(s).includes(entry.id));
  const question = isUnsent
    ? 'Your review of it was not sent in full. Remove it with all reviews?'
    : 'Remove it with all reviews?';
  return (
    <tr data-session={entry.id}>
      <th scope="row" className="session-name">
        <a href={hashOfScreen({ name: 'review', sessionId: entry.id })}>{entry.title}</a>
      </th>
      <td className="left wrap">{entry.recorders.join(', ')}</td>
      <td className="left wrap">{progress ? <Raters sessionId={entry.id} progress={progress} /> : ''}</td>
      <td data-cell="looked at">{own ? wholePercent(own.lookedAtShare) : '–'}</td>
      <td data-cell="signed off">{own ? `${own.signedOffSegments} of ${own.segments}` : '–'}</td>
      <td>{clock(entry.durationSeconds)}</td>
      <td>{when.format(new Date(entry.savedAt))}</td>
      <td className="acts">
        <RemoveButton what={entry.title} question={question} onRemove={remove} />
      </td>
    </tr>
  );
});

/** Who has reviewed a session. Of the own review its state; of others only that they exist. */
function Raters({ sessionId, progress }: { sessionId: string; progress: SessionProgress }) {
  const app = useApp();
  const rater = usePart(app.prefs, p => p.rater);
  const { own, others } = progress;
  const parts = [
    own ? `${rater}: ${stateWords(own.entries, own.finished)}` : '',
    others.length > 0 ? `also by ${others.join(', ')}` : '',
  ].filter(p => p !== '');
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

function stateWords(entries: number, finished: boolean): string {
  const words = `${entries} ${entries === 1 ? 'entry' : 'entries'}`;
  return finished ? `${words}, finished` : words;
}
