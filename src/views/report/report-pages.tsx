import { useEffect, useRef } from 'react';
import { reportCss } from '../../report/css';

/** The report's own markup, the same as in the file it exports: every text in it was escaped where it was written. */
export function ReportPages({ body, foot }: { body: string; foot: string }) {
  const place = useRef<HTMLElement>(null);
  useEffect(() => {
    const parsed = new DOMParser().parseFromString(body, 'text/html');
    place.current!.replaceChildren(...parsed.body.childNodes);
  }, [body]);
  useEffect(() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(reportCss(foot));
    document.adoptedStyleSheets.push(sheet);
    return () => {
      document.adoptedStyleSheets = document.adoptedStyleSheets.filter(s => s !== sheet);
    };
  }, [foot]);
  return <main ref={place} className="report" data-testid="report" />;
}
