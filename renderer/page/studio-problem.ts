import type { PictureRefusal } from '../../server/core/ports/renderer.ts';

/**
 * A shot refused in the page; `code` is the problem the node side answers with. After `shader-failed`, which is
 * `renderer-failed` there, and `picture-too-many-maps` the page is not used again.
 */
export class StudioProblem extends Error {
  override readonly name = 'StudioProblem';
  readonly code: PictureRefusal | 'renderer-failed' | 'shader-failed';

  constructor(code: StudioProblem['code'], message: string) {
    super(message);
    this.code = code;
  }
}
