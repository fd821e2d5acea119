import { decodeGeometry } from '../../document/decode-geometry.ts';
import type { LoadedModel } from '../../document/read-accessor.ts';
import type { ModelEdit } from './model-edit.ts';

/** The model under repair with its compressed geometry readable, to look at before anything is changed. */
export async function decodeEdit({ json, bin, added }: ModelEdit): Promise<LoadedModel> {
  const { views = [], arrays } = await decodeGeometry({ json, bin }, 'all');
  return { json, bin, views: new Map([...added, ...views]), arrays };
}
