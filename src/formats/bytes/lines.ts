/** Lines of a text one by one, without the list of all of them: a text of line ends alone has hundreds of millions. */
export function* linesIn(text: string): Generator<string> {
  for (let at = 0; at <= text.length; ) {
    const end = text.indexOf('\n', at);
    yield text.slice(at, end < 0 ? text.length : end);
    at = end < 0 ? text.length + 1 : end + 1;
  }
}

/** Hands on each line of UTF-8 bytes that come in pieces cut anywhere; empty lines are left out. */
export class LineStream {
  private readonly decoder = new TextDecoder();
  private rest = '';
  private tooLong = false;

  /** `longest`: characters of a line; after a longer one nothing more is handed on. */
  constructor(
    private readonly longest: number,
    private readonly take: (line: string) => void,
  ) {}

  push(bytes: Uint8Array): void {
    if (!this.tooLong) this.split(this.decoder.decode(bytes, { stream: true }));
  }

  /** The last line, which may have no end. Returns false when a line was too long. */
  finish(): boolean {
    if (!this.tooLong) this.split(this.decoder.decode());
    if (!this.tooLong && this.rest !== '') this.take(this.rest);
    this.rest = '';
    return !this.tooLong;
  }

  private split(text: string): void {
    let at = 0;
    for (let end = text.indexOf('\n'); end >= 0; end = text.indexOf('\n', at)) {
      const line = this.rest + text.slice(at, end);
      this.rest = '';
      if (line !== '') this.take(line);
      at = end + 1;
    }
    this.rest += text.slice(at);
    this.tooLong = this.rest.length > this.longest;
    if (this.tooLong) this.rest = '';
  }
}
