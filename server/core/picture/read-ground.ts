import { isHex } from '../colour/srgb.ts';
import { Problem } from '../problems.ts';
import { CALL_PROBLEMS } from '../texts/problems/call.ts';
import type { Ground } from './picture.ts';

/**
 * A ground as it is written in an address, where `#` would have to be escaped and may be left out.
 * @throws Problem `invalid-field`
 */
export function readGround(text: string): Ground {
  const ground = findGround(text);
  if (ground) return ground;
  throw new Problem('invalid-field', {
    detail: CALL_PROBLEMS['invalid-field'].unknownBackground(text.slice(0, 20)),
    expected: 'transparent, white or rrggbb',
    received: text.slice(0, 20),
    where: 'querystring/ground',
  });
}

/** The ground that is meant; null where none is. */
export function findGround(text: string): Ground | null {
  if (text === 'transparent' || text === 'white') return text;
  const hex = text.startsWith('#') ? text : `#${text}`;
  return isHex(hex) ? (hex.toLowerCase() as Ground) : null;
}

/** sRGB levels of an even ground; null where there is none. */
export function toGroundLevels(ground: Ground): readonly [number, number, number] | null {
  if (ground === 'transparent') return null;
  if (ground === 'white') return [255, 255, 255];
  const levels = [1, 3, 5].map((at) => Number.parseInt(ground.slice(at, at + 2), 16));
  return levels as unknown as readonly [number, number, number];
}
