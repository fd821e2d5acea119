/** A shot refused in the page; `code` is the problem the node side answers with. */
export class StudioProblem extends Error {
  override readonly name = 'StudioProblem';
  readonly code: 'picture-nothing-to-see' | 'renderer-failed';

  constructor(code: StudioProblem['code'], message: string) {
    super(message);
    this.code = code;
  }
}
