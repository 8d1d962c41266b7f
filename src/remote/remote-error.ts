/**
 * Why a request to a lab's store failed:
 * - 'offline': no answer, or the connection broke; what was sent may or may not have arrived.
 * - 'sign in': no account, a wrong or expired password.
 * - 'refused': signed in, but the account has no right to this.
 * - 'full': the server has no room left.
 * - 'busy': the server answers, but not now.
 * - 'no folder': a file was sent to a folder that is not there.
 * - 'unexpected': an answer that a store does not give; a proxy or a wrong address may have sent it.
 */
export type RemoteProblem = 'offline' | 'sign in' | 'refused' | 'full' | 'busy' | 'no folder' | 'unexpected';

export class RemoteError extends Error {
  override readonly name = 'RemoteError';

  constructor(
    readonly problem: RemoteProblem,
    /** The request and what came back, e.g. 'PUT logs/R1/V01/ 507'. */
    readonly detail: string,
  ) {
    super(`${problem}: ${detail}`);
  }
}
