import { useEffect, useRef, useState } from 'react';
import { errorMessage } from '../../state/error-message';
import { makeReport, type ReportChoice, reportRequest } from '../../state/study/reporting';
import { Cancelled } from '../../workers/outcome';
import type { BegunReport, MadeReport } from '../../workers/report-jobs';
import { useApp } from '../app-context';

interface ShownReport {
  /** Its beginning, which stands before the rest; null before that, and when there is none. */
  readonly begun: BegunReport | null;
  /** Null while it is computed, and when there is none. */
  readonly made: MadeReport | null;
  readonly problem: string;
  /** Share of the work that is done, in [0, 1]. */
  readonly share: number;
  readonly cancel: () => void;
}

/** The report of a study or a session, computed again for each choice; leaving the screen ends the work. */
export function useReport(id: string, choice: ReportChoice): ShownReport {
  const app = useApp();
  const [begun, setBegun] = useState<BegunReport | null>(null);
  const [made, setMade] = useState<MadeReport | null>(null);
  const [problem, setProblem] = useState('');
  const [share, setShare] = useState(0);
  const cancel = useRef(() => {});
  useEffect(() => {
    let gone = false;
    let end = () => {};
    setBegun(null);
    setMade(null);
    setProblem('');
    setShare(0);
    cancel.current = () => end();
    const make = async () => {
      const request = await reportRequest(app, id, choice);
      if (gone) throw new Cancelled();
      const underWay = makeReport(
        request,
        done => gone || setShare(done),
        first => gone || setBegun(first),
      );
      end = underWay.cancel;
      return underWay.done;
    };
    make().then(
      report => gone || setMade(report),
      (error: Error) => {
        if (gone) return;
        setBegun(null);
        setProblem(error instanceof Cancelled ? cancelledWords : errorMessage(error));
      },
    );
    return () => {
      gone = true;
      end();
    };
  }, [app, id, choice]);
  return { begun: made ?? begun, made, problem, share, cancel: () => cancel.current() };
}

const cancelledWords = 'The report was cancelled. Choose Recompute to compute it.';
