import type { ReadMap } from '../../core/ports/models.ts';
import type { MapMaker } from '../materials/derived-maps.ts';

/** What a thread that writes a model asks the service for. */
export interface MapCallbacks extends MapMaker {
  readonly readMap: ReadMap;
  readonly [name: string]: (...given: never[]) => Promise<unknown>;
}

export const MAP_CALLBACKS = ['readMap', 'combine', 'remake', 'level'] as const;
