/** The written protocol that raters follow: one page, editable per study, printed in the report. */
export interface Guidance {
  readonly title: string;
  readonly sections: readonly GuidanceSection[];
}

export interface GuidanceSection {
  readonly heading: string;
  readonly points: readonly string[];
}

export const defaultGuidance: Guidance = {
  title: 'How to review R-peak marks',
  sections: [
    {
      heading: 'Before you start',
      points: [
        'Sign with your own rater code, never with a name. Work alone: do not talk about a recording before all raters have finished it.',
        'Set the screen so that 25 mm/s and 10 mm/mV are true, and keep to one paper speed throughout.',
        'Do one practice lesson of each kind first.',
      ],
    },
    {
      heading: 'What counts as a mistake',
      points: [
        'Missed peak: you can see a beat, and it has no mark. Insert the mark on its R peak.',
        'Wrong peak: the mark sits on another wave of the beat (P, S or T wave) or on noise beside it. Move it to the R peak.',
        'Extra mark: there is a mark and no beat. Delete it.',
        'Unreadable: noise hides the beats, so that you cannot say where they are. Mark the stretch from the last beat you are sure of to the next one. Do not guess beats inside it.',
        'A mark on the right QRS but a little off its peak is no mistake. Centre it if you like; it is counted apart.',
        'An early, wide or otherwise unusual beat is a real beat. Its mark is right when it is on its R peak.',
        'In an inverted lead the R peak points down: the mark belongs on its lowest point.',
      ],
    },
    {
      heading: 'In doubt',
      points: [
        'Look at the other leads, at the shape of the beats around, and at the intervals before and after.',
        'If you would bet on the beat, mark it. If you would not, call the stretch unreadable.',
        'Judge what you see, not what the rhythm ought to be. Never place a mark only because an interval looks long.',
        'If a place stays open, decide, leave a comment, and go on.',
      ],
    },
    {
      heading: 'Looking at everything',
      points: [
        'Unless a sample was agreed on, go through every segment from start to end, not only through the suspicious places.',
        'Accept what is right, page by page. Sign a segment off when all of it is looked at; otherwise write down why it is not.',
        'Signing off is final. Reopening is possible, with a reason that stays in the record.',
      ],
    },
    {
      heading: 'Breaks',
      points: [
        'Rest your eyes for five minutes after every half hour, and stop after four hours in a day.',
        'Do not end in the middle of a segment if you can help it: on coming back, look at the last page again.',
      ],
    },
    {
      heading: 'If you see something that worries you',
      points: [
        'This review judges signal quality. It is not a diagnosis, and the tool is no medical device.',
        'If a rhythm may be abnormal, flag the place and follow your study’s procedure for incidental findings, which refers to qualified clinical staff. Do not tell the participant yourself.',
      ],
    },
  ],
};

/** What the page notes as looked at, whatever protocol a study has. */
export const lookedAtGuidance: GuidanceSection = {
  heading: 'What counts as looked at',
  points: [
    'Time: a page that stood still for a second at 10 mm/s or faster while you worked at it, or that you accepted.',
    'A mark: one that you kept, moved or placed, whose page you accepted, or whose stretch you called unreadable.',
    'What does not count: opening a session, pages that run past while a key is held down, and a window in the background.',
  ],
};

/** For whoever decides whether a recording is reviewed in full or as a sample. */
export const samplingGuidance: GuidanceSection = {
  heading: 'When to review a sample, and when not',
  points: [
    'When: the recording is long, from about an hour on, and the question is how many of its RR intervals are right.',
    'When not: segments under 15 minutes, where it saves little; quality below 90 %, where nearly all has to be drawn; and whatever needs continuous time, such as rhythm, heart rate, heart rate variability or single events. Review these in full.',
    'Correct and accept each stretch as in any review, also one without a mistake. A stretch you skip widens the interval until it is reviewed.',
    'Stop when the interval is as narrow as the study wants, or earlier: it holds whenever you stop. The same sample is never drawn a second time.',
    'What it assumes: no stretch holds more RR intervals than a bound of about 1.25 times the marks in it. A bound that does not hold is raised and reported.',
    'What it does not cover: the interval is about the draw alone. Mistakes of the rater are not in it; for these, a second rater reviews the same stretches, blind.',
  ],
};

/** The guidance of a study: with blank lines and empty sections taken out; the default where nothing is left. */
export function guidanceOf(edited: Guidance | null): Guidance {
  if (!edited) return defaultGuidance;
  const sections = edited.sections
    .map(s => ({ heading: s.heading.trim(), points: s.points.map(p => p.trim()).filter(p => p !== '') }))
    .filter(s => s.heading !== '' || s.points.length > 0);
  if (sections.length === 0) return defaultGuidance;
  return { title: edited.title.trim() || defaultGuidance.title, sections };
}

/** As plain text for editing: title, blank line, headings with '# ', points with '- '. Read back by parseGuidance. */
export function guidanceText({ title, sections }: Guidance): string {
  const parts = sections.map(s => [`# ${s.heading}`, ...s.points.map(p => `- ${p}`)].join('\n'));
  return `${[title, ...parts].join('\n\n')}\n`;
}

/** Reads text as guidanceText writes it. A line without a sign goes on with the point before it. */
export function parseGuidance(text: string): Guidance {
  const lines = text.split(/\r?\n/).map(l => l.trim());
  const sections: { heading: string; points: string[] }[] = [];
  let title = '';
  for (const line of lines) {
    const current = sections.at(-1);
    if (line === '') continue;
    if (line.startsWith('# ')) sections.push({ heading: line.slice(2).trim(), points: [] });
    else if (!current) title = title ? `${title} ${line}` : line;
    else if (line.startsWith('- ') || current.points.length === 0) current.points.push(line.replace(/^- /, '').trim());
    else current.points.push(`${current.points.pop()} ${line}`);
  }
  return guidanceOf({ title, sections });
}
