import { METAL_CHIP, sayColour, sayConverted } from '../../../server/core/finish/say-colour.ts';
import type { FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { seg } from '../../api.ts';
import { Chip } from '../../parts/chip.tsx';
import { Picture } from '../../parts/picture.tsx';
import { Approvals } from './approvals.tsx';
import { FinishFields } from './finish-fields.tsx';
import { type FinishesModel, getPlace } from './finishes-model.ts';
import { describeGrades } from './group-finishes.ts';
import { Revisions } from './revisions.tsx';
import { WhereUsed } from './where-used.tsx';

/** Out of gamut by less than this nobody sees. */
const SEEN_DELTA_E = 0.5;

interface FinishSampleProps {
  readonly model: FinishesModel;
  readonly finish: FinishAnswer;
}

/** A finish on the sample card: the sphere in the studio's light, the flat chip, and its figures. */
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
      <li class="sample" id={getPlace(finish.finish)}>
        <div class="sample-pictures">
          <Picture
            address={`/api/finishes/${seg(finish.finish)}/swatch.webp?kind=sphere&size=256`}
            alt={`${finish.name} on a sphere`}
            version={finish.revision}
          />
          <Chip hex={resolved.hex} />
        </div>
        <button type="button" aria-expanded={open} onClick={() => model.openFinish(finish)}>
          {finish.name}
        </button>
        <dl class="small">
          <dt class="unseen">Code</dt>
          <dd class="code">{finish.finish}</dd>
          <dt class="unseen">Colour as specified</dt>
          <dd>{sayColour(resolved.specification)}</dd>
          <dt class="unseen">Converted, and as it is delivered</dt>
          <dd>
            → {converted !== null && `${converted}, `}sRGB {resolved.delivered?.hex ?? resolved.hex}
            {resolved.metalness === 1 && `, ${METAL_CHIP}`}
          </dd>
          <dt class="unseen">Surface</dt>
          <dd>
            roughness {Number(resolved.roughness.toFixed(2))}
            {resolved.metalness > 0.5 && ', metal'}
          </dd>
          {grades && (
            <>
              <dt class="unseen">Grade</dt>
              <dd>grade {grades}</dd>
            </>
          )}
          {finish.deltaE !== undefined && <dd>ΔE00 {finish.deltaE.toFixed(1)} away</dd>}
          {resolved.outOfGamutDeltaE > SEEN_DELTA_E && (
            <dd>outside sRGB, shown ΔE00 {resolved.outOfGamutDeltaE.toFixed(1)} off</dd>
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
