import type { SampledReview } from '../../core/review/standing/sampled';
import { sampledCountWords, sampledQualityWords, sampledWords } from '../../core/review/standing/sampled-words';
import type { Span } from '../../core/units';
import { clock } from '../../state/clocks/text';
import { sampledOf, sharedSample } from '../../state/review/sampling';
import { active } from '../../state/review/workspace';
import { useApp, usePart, useWorkspace } from '../app-context';
import { KeyCap } from '../controls/key';
import { IntervalPlot } from './interval-plot';
import './sample.css';
import { SamplingGuidance } from './sampling-guidance';

/** The samples of the current recording: how many, the interval and how it narrowed. The next stretch is not shown. */
export function SamplePanel() {
  const workspace = useWorkspace();
  usePart(workspace.review.store, s => s.replayed);
  usePart(workspace.review.store, s => s.session);
  const recordingId = usePart(workspace.view, v => v.recordingId);
  const found = sampledOf(workspace, recordingId);
  if (found.length === 0) return null;
  return (
    <section className="sample-panel" aria-label="Sampled review">
      <h2>Sampled review</h2>
      {found.map(sampled => (
        <OneSample key={sampled.laidOut.plan.segment ?? ''} sampled={sampled} />
      ))}
      <SamplingGuidance />
    </section>
  );
}

function OneSample({ sampled }: { sampled: SampledReview }) {
  const app = useApp();
  const workspace = useWorkspace();
  const shown = usePart(workspace.view, v => v.sampling);
  const inHand = shown?.segment === sampled.laidOut.plan.segment ? shown : null;
  const { whole, segments, laidOut, track } = sampled;
  const { rateHz } = active(workspace);
  const shared = sharedSample(workspace, laidOut.plan.segment);
  return (
    <div className="one-sample" data-testid="sample">
      <p>
        <strong>{laidOut.plan.segment ?? 'all segments'}</strong>, {sampledWords(whole)}:{' '}
        <span data-testid="sample-quality">{sampledQualityWords(whole)}</span>
      </p>
      {track.length > 1 && <IntervalPlot track={track} />}
      <p className="soft small">
        {sampledCountWords(whole)}. Wanted: ±{whole.wantedPoints} {whole.wantedPoints === 1 ? 'point' : 'points'}.
      </p>
      <p data-testid="sample-state" role="status">
        {stateWords(sampled, shared?.drawn ?? null)}
      </p>
      {inHand && (
        <p data-testid="sample-stretch">
          Shown:{' '}
          {inHand.rows
            .filter(r => !r.skipped)
            .map(r => timesOf(r.stretch, rateHz))
            .join(', ')}
          ; what is greyed is only there for context.
        </p>
      )}
      {segments.length > 1 && (
        <ul className="small">
          {segments.map(({ segment, number }) => (
            <li key={segment.name}>
              {segment.name}, {sampledWords(number)}: {sampledQualityWords(number)}
            </li>
          ))}
        </ul>
      )}
      {!whole.exact && (
        <p className="row">
          <button type="button" onClick={() => app.runCommand('sample.next')}>
            {inHand ? 'Show the stretches' : 'Go on'} <KeyCap id="sample.next" />
          </button>
          {inHand && (
            <>
              <button type="button" onClick={() => app.runCommand('sample.skip')}>
                Skip one <KeyCap id="sample.skip" />
              </button>
              <button type="button" onClick={() => app.runCommand('sample.leave')}>
                Leave the sample <KeyCap id="sample.leave" />
              </button>
            </>
          )}
        </p>
      )}
    </div>
  );
}

function timesOf({ start, end }: Span, rateHz: number): string {
  return `${clock(start / rateHz, 1)} to ${clock(end / rateHz, 1)}`;
}

/** Whether to go on. A second rater goes by the number of the first, not by the interval. */
function stateWords({ whole }: SampledReview, asMany: number | null): string {
  if (whole.exact) return 'Every stretch is reviewed: this is the number itself.';
  if (asMany !== null) {
    const left = asMany - whole.drawn;
    if (left <= 0) return `All ${asMany} stretches drawn for every rater are reviewed: you can stop here, or go on.`;
    return `${left} more of the ${asMany} stretches drawn for every rater.`;
  }
  if (whole.reached) return 'The interval is as narrow as wanted: you can stop here, or go on.';
  const left = Math.max(0, whole.neededDraws - whole.drawn);
  return `About ${left} more stretches until the interval is as narrow as wanted.`;
}
