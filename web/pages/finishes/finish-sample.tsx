import { formatColour, METAL_CHIP, sayConverted } from '../../../server/core/finish/format-finish.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { seg } from '../../api.ts';
import { Chip, Picture } from '../../parts/picture.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import { Approvals } from './approvals.tsx';
import { VISIBLE_DELTA_E } from './describe-draft.ts';
import { FinishFields } from './finish-fields.tsx';
import { type FinishesModel, getElementId } from './finishes-model.ts';
import { describeGrades } from './group-finishes.ts';
import { Revisions } from './revisions.tsx';
import { WhereUsed } from './where-used.tsx';

const texts = finishesTexts.sample;

interface FinishSampleProps {
  readonly model: FinishesModel;
  readonly finish: FinishAnswer;
}

/** A finish in the list: a sphere in the studio light, a flat chip, and its values. It opens into its form. */
export function FinishSample({ model, finish }: FinishSampleProps) {
  const { resolved } = finish;
  const converted = sayConverted(resolved.specification, {
    specifiedLab: resolved.lab.value,
    includedLab: resolved.includedLab ?? null,
  });
  const open = model.open.value === finish.finish;
  const grades = describeGrades(finish.finish, model.lines.value);
  return (
    <>
      <li class="sample" id={getElementId(finish.finish)}>
        <div class="sample-pictures">
          <Picture
            address={`/api/finishes/${seg(finish.finish)}/swatch.webp?kind=sphere&size=256`}
            alt={texts.onSphere(finish.name)}
            version={finish.revision}
          />
          <Chip hex={resolved.hex} />
        </div>
        <button type="button" aria-expanded={open} onClick={() => model.openFinish(finish)}>
          {finish.name}
        </button>
        <dl class="small">
          <dt class="unseen">{commonTexts.code}</dt>
          <dd class="code">{finish.finish}</dd>
          <dt class="unseen">{texts.specified}</dt>
          <dd>{formatColour(resolved.specification)}</dd>
          <dt class="unseen">{texts.delivered}</dt>
          <dd>
            → {converted !== null && `${converted}, `}sRGB {resolved.delivered?.hex ?? resolved.hex}
            {resolved.metalness === 1 && `, ${METAL_CHIP}`}
          </dd>
          <dt class="unseen">{texts.surface}</dt>
          <dd>
            {texts.roughness(Number(resolved.roughness.toFixed(2)))}
            {resolved.metalness > 0.5 && `, ${texts.metal}`}
          </dd>
          {grades && (
            <>
              <dt class="unseen">{texts.grade}</dt>
              <dd>{grades}</dd>
            </>
          )}
          {finish.deltaE !== undefined && <dd>{texts.away(finish.deltaE.toFixed(1))}</dd>}
          {resolved.outOfGamutDeltaE > VISIBLE_DELTA_E && (
            <dd>{texts.outOfGamut(resolved.outOfGamutDeltaE.toFixed(1))}</dd>
          )}
        </dl>
      </li>
      {open && (
        <li class="sample-open arrives">
          <FinishFields model={model} before={finish} />
          <WhereUsed finish={finish.finish} revision={finish.revision} />
          <Approvals finish={finish.finish} revision={finish.revision} />
          <Revisions finish={finish.finish} revision={finish.revision} />
        </li>
      )}
    </>
  );
}
