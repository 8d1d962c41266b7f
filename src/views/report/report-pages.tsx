import { useEffect, useLayoutEffect, useRef } from 'react';
import { reportCss } from '../../report/css';

/**
 * The report's own markup, the same as in the file it exports: every text in it was escaped where it was written. `rest` is
 * null while only the beginning is known; it is put behind that, which stays as it is.
 */
export function ReportPages({ beginning, rest, foot }: { beginning: string; rest: string | null; foot: string }) {
  const place = useRef<HTMLElement>(null);
  // Before anyone can see, or print, a report that is said to be whole and is not.
  useLayoutEffect(() => {
    place.current!.replaceChildren(...nodesOf(beginning));
  }, [beginning]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: another beginning has swept the rest away
  useLayoutEffect(() => {
    if (rest !== null) place.current!.append(...nodesOf(rest));
  }, [beginning, rest]);
  useEffect(() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(reportCss(foot));
    document.adoptedStyleSheets.push(sheet);
    return () => {
      document.adoptedStyleSheets = document.adoptedStyleSheets.filter(s => s !== sheet);
    };
  }, [foot]);
  return (
    <main
      ref={place}
      className="report"
      aria-busy={rest === null}
      data-testid={rest === null ? 'report-beginning' : 'report'}
    />
  );
}

function nodesOf(html: string): ChildNode[] {
  return [...new DOMParser().parseFromString(html, 'text/html').body.childNodes];
}
