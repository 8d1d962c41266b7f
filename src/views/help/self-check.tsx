import { useEffect, useState } from 'react';
import { agreementSentence, type CheckFinding, findingsText } from '../../core/known-answers/known-answer';
import { checkedWhat, checkThisBrowser } from '../../state/self-check';
import { useApp } from '../app-context';
import { Sheet } from '../controls/dialog';
import { TableHead } from '../controls/table-head';
import './self-check.css';

/** Examples with known answers, computed again in this browser; the table can be copied into a study's notes. */
export function SelfCheckDialog() {
  const app = useApp();
  const [head] = useState(() => checkedWhat(app.now()));
  const [findings, setFindings] = useState<readonly CheckFinding[] | null>(null);
  const [problem, setProblem] = useState('');
  const [copied, setCopied] = useState('');
  useEffect(() => {
    let gone = false;
    checkThisBrowser().then(
      found => gone || setFindings(found),
      (error: Error) => gone || setProblem(`The check could not run: ${error.message}`),
    );
    return () => {
      gone = true;
    };
  }, []);
  const copy = async (found: readonly CheckFinding[]) => {
    try {
      await navigator.clipboard.writeText(findingsText(found, head));
      setCopied('Copied.');
    } catch {
      setCopied('This browser does not let the page copy: select the table and copy it by hand.');
    }
  };
  return (
    <Sheet title="Self-check: known answers, computed in this browser" onClose={() => app.ui.openDialog(null)} wide>
      <div className="sheet-body">
        <p className="soft small">{head.join(' · ')}</p>
        <p role="status" data-testid="self-check-outcome" className={findings?.some(f => !f.agrees) ? 'needs' : ''}>
          {problem || (findings ? agreementSentence(findings) : 'Computing …')}
        </p>
        {findings && <FindingsTable findings={findings} />}
        {findings && (
          <p>
            <button type="button" onClick={() => void copy(findings)}>
              Copy as text
            </button>{' '}
            <span role="status">{copied}</span>
          </p>
        )}
      </div>
    </Sheet>
  );
}

function FindingsTable({ findings }: { findings: readonly CheckFinding[] }) {
  return (
    <table className="check-table">
      <TableHead columns={['Example', { left: 'Expected' }, { left: 'Found' }, { left: 'Agrees' }]} />
      <tbody>
        {findings.map(f => (
          <tr key={`${f.topic} ${f.example}`}>
            <th scope="row" className="wrap">
              {f.topic}: {f.example}
              <div className="soft small">{f.source}</div>
            </th>
            <td className="left wrap">{f.expected}</td>
            <td className="left wrap">{f.found}</td>
            <td className={f.agrees ? 'left' : 'left needs'}>{f.agrees ? 'yes' : 'no'}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
