import { useSignal } from '@preact/signals';
import type { SlotAnswer } from '../../../../server/http/contracts/product.ts';
import { EditText, Field } from '../../../parts/form.tsx';
import { commonTexts } from '../../../texts/common.ts';
import { productTexts } from '../../../texts/product.ts';
import type { ProductModel } from '../product-model.ts';
import { describeDirections } from './describe-part.ts';
import { DirectionDrawing, foldDegrees } from './direction-drawing.tsx';

const texts = productTexts.direction;

interface DirectionEditorProps {
  readonly model: ProductModel;
  readonly slot: SlotAnswer;
  /** Receives the angle, or null to follow the part. */
  readonly onUse: (grainDegrees: number | null) => void;
  readonly onClose: () => void;
}

/** Common angles, degrees. */
const ANGLES = [0, 45, 90, 135] as const;

/** The editor of a slot's direction: the angle, the proposal with its reason, and a drawing on the part. */
export function DirectionEditor({ model, slot, onUse, onClose }: DirectionEditorProps) {
  const problem = useSignal<string | null>(null);
  const { proposedGrain: proposal, grainMark: mark } = slot;
  const followed = describeDirections(slot);
  const grainDegrees = getShownDirection(slot);
  const box = model.survey.value?.box ?? null;
  const { rows, defaultKey } = model.schedule.saved.value;
  const row = rows.find(({ key }) => key === defaultKey) ?? null;
  const proposed = proposal?.grainDegrees ?? null;
  const commit = (text: string) => {
    const degrees = Number(text.replace(/°$/, '').trim());
    const isAngle = text !== '' && Number.isFinite(degrees) && Math.abs(degrees) <= 360;
    problem.value = isAngle ? null : texts.notAnAngle(text.slice(0, 20));
    if (isAngle) onUse(degrees);
  };
  return (
    <div class="direction">
      <div>
        <p class="strong">{texts.button(slot.label)}</p>
        <p class="small soft measure">{texts.intro}</p>
        <div class="direction-turns">
          <Field name={texts.degrees} inline>
            <EditText
              label={texts.degreesOf(slot.label)}
              size={6}
              value={String(grainDegrees)}
              invalid={problem.value !== null}
              onCommit={commit}
            />
          </Field>
          {ANGLES.map((degrees) => (
            <button
              type="button"
              key={degrees}
              aria-pressed={followed === null && foldDegrees(grainDegrees) === degrees}
              onClick={() => onUse(degrees)}
            >
              {degrees}°
            </button>
          ))}
        </div>
        {problem.value && <p class="small">{problem.value}</p>}
        {followed !== null && <p class="measure">{texts.following(followed)}</p>}
        {followed === null && (
          <p class={proposal ? 'measure' : 'measure soft'}>
            {proposal
              ? proposal.grainDegrees === null
                ? texts.noProposal(proposal.reason)
                : texts.proposal(proposal.grainDegrees, proposal.confidence === 'weak', proposal.reason)
              : mark
                ? texts.noDirectedFinish
                : texts.noUvs}
          </p>
        )}
        <div class="actions">
          {slot.directions === null && (
            <button type="button" onClick={() => onUse(null)}>
              {texts.followPart}
            </button>
          )}
          {followed === null && proposed !== null && foldDegrees(grainDegrees) !== foldDegrees(proposed) && (
            <button type="button" onClick={() => onUse(proposed)}>
              {texts.use(proposed)}
            </button>
          )}
          <button type="button" onClick={onClose}>
            {commonTexts.close}
          </button>
        </div>
      </div>
      {mark && box && (
        <DirectionDrawing
          address={model.getPictureAddress(row, mark.view)}
          version={model.version.value}
          label={slot.label}
          box={box}
          mark={mark}
          grainDegrees={grainDegrees}
          proposedDegrees={followed === null ? proposed : null}
        />
      )}
    </div>
  );
}

interface DirectionProposalProps {
  readonly slot: SlotAnswer;
  readonly onUse: (grainDegrees: number) => void;
}

/** A proposed direction that is not in use yet, with a button that takes it over. */
export function DirectionProposal({ slot, onUse }: DirectionProposalProps) {
  const proposal = slot.proposedGrain;
  const proposed = proposal?.grainDegrees ?? null;
  if (proposal === null || proposed === null || describeDirections(slot) !== null) return null;
  if (foldDegrees(slot.grainDegrees) === foldDegrees(proposed)) return null;
  return (
    <>
      {' '}
      <button type="button" title={proposal.reason} onClick={() => onUse(proposed)}>
        {proposal.confidence === 'weak' ? texts.useUnsure(proposed) : texts.use(proposed)}
        <span class="unseen">{texts.forSlot(slot.label)}</span>
      </button>
    </>
  );
}

/** The direction to draw, degrees: that of wood, else of cloth, where they follow the part. */
function getShownDirection({ directions, grainDegrees }: Pick<SlotAnswer, 'directions' | 'grainDegrees'>): number {
  return directions?.wood ?? directions?.textile ?? grainDegrees;
}
