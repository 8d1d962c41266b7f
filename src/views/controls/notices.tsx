import { useApp, usePart } from '../app-context';
import { KeyCapLater } from './key-later';

/** What needs the person, and work under way; never on top of the strip. */
export function NoticeList() {
  const app = useApp();
  const notices = usePart(app.ui, s => s.notices);
  const jobs = usePart(app.ui, s => s.jobs);
  const seen = notices.filter(n => n.kind === 'done' && !n.lasting && !n.action);
  return (
    <div className="notices">
      {seen.length > 2 && (
        <div className="notice done">
          <span>{seen.length} notices</span>
          <button type="button" className="quiet" onClick={() => app.ui.dismiss(...seen.map(n => n.id))}>
            Dismiss all {seen.length}
          </button>
        </div>
      )}
      {notices.map(n => (
        <div
          key={n.id}
          className={n.kind === 'done' ? 'notice done' : 'notice'}
          role={n.kind === 'done' ? 'status' : 'alert'}
        >
          <span>{n.text}</span>
          <span className="spring" />
          {n.action && (
            <button type="button" onClick={n.action.run}>
              {n.action.title} {n.action.command && <KeyCapLater id={n.action.command} />}
            </button>
          )}
          {!n.lasting && (
            <button type="button" className="quiet" onClick={() => app.ui.dismiss(n.id)}>
              Dismiss
            </button>
          )}
        </div>
      ))}
      {jobs.map(job => (
        <div key={job.id} className="notice done" role="status">
          <span>
            {job.title} {job.share === null ? '' : `${Math.round(job.share * 100)} %`}
            {job.secondsLeft !== null && job.secondsLeft > 1 ? `, about ${Math.ceil(job.secondsLeft)} s left` : ''}{' '}
            <progress aria-label={job.title} max={1} {...(job.share === null ? {} : { value: job.share })} />
          </span>
          {job.cancel && (
            <button type="button" onClick={job.cancel}>
              Cancel
            </button>
          )}
        </div>
      ))}
    </div>
  );
}
