import { canonical } from '../core/canonical.ts';
import type { Article, StoredFinish } from '../core/finish/finish.ts';
import type { PictureSet } from '../core/picture/picture-set.ts';
import type { Budget } from '../core/product/budgets.ts';
import type { Product } from '../core/product/product.ts';
import { KEEP_ALL, type Slot } from '../core/product/slot.ts';
import type { Repair } from '../core/repair/repair.ts';
import { digestBytes } from './caching.ts';

// Tags of what people edit: the same for the same content, so a change that was undone is no change. Lines and schedules get
// theirs from the store.

/** A revision of a finish also counts the changes of its article. */
export const tagFinish = ({ revision }: Pick<StoredFinish, 'revision'>): string => String(revision);

export const tagArticle = (article: Article): string => digestBytes(canonical(article));

export const tagProduct = (product: Product): string => digestBytes(canonical(product));

export const tagPictureSet = (set: PictureSet): string => digestBytes(canonical(set));

export const tagBudget = (budget: Budget): string => digestBytes(canonical(budget));

export const tagPreparation = (steps: readonly Repair[]): string => digestBytes(canonical(steps));

/** The settings of a slot that people edit. What follows the model counts as not set. */
export function tagSlot({ slot, label, position, options, fixed, keep, grainDegrees, said }: Slot): string {
  const isSet = (setting: 'normal' | 'grain') => !said || said.includes(setting);
  const kept = { ...KEEP_ALL, ...keep, normal: isSet('normal') ? keep.normal : null };
  const grain = isSet('grain') ? grainDegrees : null;
  return digestBytes(canonical({ slot, label, position, options, fixed, kept, grain }));
}
