import { Component, type ReactNode } from 'react';
import type { App } from '../../state/app';
import { fetchAndDownload } from '../../state/backup/backup';
import { errorMessage } from '../../state/error-message';
import type { ReviewWorkspace } from '../../state/review/workspace';

interface State {
  readonly crash: Error | null;
  readonly given: boolean;
  /** Why the bundle could not be given; '' where it was, or was not asked for. */
  readonly problem: string;
}

/** When a screen breaks: what happened, the work as a file from memory, and a fresh start. */
export class CrashBoundary extends Component<{ app: App; children: ReactNode }, State> {
  override state: State = { crash: null, given: false, problem: '' };
  /** The screen closes its workspace while it breaks down: the last one is held here. */
  private workspace: ReviewWorkspace | null = this.props.app.workspace.getState().workspace;
  private stop = () => {};

  static getDerivedStateFromError(crash: Error): Partial<State> {
    return { crash };
  }

  override componentDidMount(): void {
    this.stop = this.props.app.workspace.subscribe(({ workspace }) => {
      if (workspace) this.workspace = workspace;
    });
  }

  override componentWillUnmount(): void {
    this.stop();
  }

  private give = () => {
    if (!this.workspace) return;
    fetchAndDownload(this.props.app, this.workspace).then(
      () => this.setState({ given: true, problem: '' }),
      (error: unknown) => this.setState({ problem: errorMessage(error) }),
    );
  };

  override render(): ReactNode {
    const { crash, given, problem } = this.state;
    if (!crash) return this.props.children;
    return (
      <main className="start">
        <h1>Something went wrong on this screen</h1>
        <p role="alert">{crash.message}</p>
        <p>
          Everything saved is still in this browser. If it happens again after a reload, download the bundle and tell
          whoever maintains this page what you did last.
        </p>
        {problem !== '' && (
          <p role="alert">The bundle was not downloaded: {problem} Reload, and download it from the review.</p>
        )}
        <div className="row">
          {this.workspace && (
            <button type="button" className="chief" onClick={this.give}>
              {given ? 'Bundle downloaded' : 'Download the bundle'}
            </button>
          )}
          <button type="button" onClick={() => location.reload()}>
            Reload
          </button>
          <button type="button" onClick={startAnew}>
            Back to the sessions
          </button>
        </div>
      </main>
    );
  }
}

function startAnew(): void {
  location.hash = '#/';
  location.reload();
}
