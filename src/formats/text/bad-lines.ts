import { FormatError } from '../format-error';

/** Share of lines that may be unreadable before the file is refused. */
const badLineLimit = 0.05;

/** One line that does not fit the layout; the rest of the file may. */
export class BadLine extends FormatError {}

/** Lines of a signal that could not be read. What they held is a gap; when they are many, the layout is wrong. */
export class BadLines {
  /** Lines kept as one empty row each: there are no stamps that would show what is missing. */
  kept = 0;
  /** Lines without a row: the stamps of those around them show what is missing. */
  leftOut = 0;
  private first: BadLine | null = null;

  get count(): number {
    return this.kept + this.leftOut;
  }

  add(line: BadLine, isKept: boolean): void {
    this.first ??= line;
    if (isKept) this.kept++;
    else this.leftOut++;
  }

  /** Throws the first bad line when more than 5 % of `rows` rows and bad lines are bad. */
  check(rows: number): void {
    const { first, count } = this;
    const lines = rows + this.leftOut;
    if (!first || count <= badLineLimit * lines) return;
    if (count === 1) throw first;
    const problem = `${first.problem} ${count} of ${lines} lines so far cannot be read.`;
    throw new FormatError(
      first.file,
      first.format,
      first.place,
      problem,
      'Check separator, decimal mark and columns, or repair the lines.',
    );
  }

  /** Sentences for the person; none when every line could be read. */
  inWords(): string[] {
    const { first, kept, leftOut } = this;
    if (!first) return [];
    const lines = (n: number) => (n === 1 ? '1 line cannot be read' : `${n} lines cannot be read`);
    const say: string[] = [];
    if (kept > 0) say.push(`${lines(kept)}: a gap of one sample stands for each.`);
    if (leftOut > 0) say.push(`${lines(leftOut)}: left out, with a gap where the time stamps show one.`);
    return [...say, `The first of them is ${first.place}: ${first.problem}`];
  }
}
