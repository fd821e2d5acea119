import type { ViewerTexts } from '../texts/viewer.ts';
import type { Chosen, Group, ViewerPlan } from './plan-choices.ts';

/** The list of finishes by position, or of variants: groups of radio buttons. */
export interface Picker {
  readonly element: HTMLElement;
  /** Shows what is chosen. */
  show(chosen: Chosen): void;
}

/** @param onChoose a person has chosen */
export function createPicker(
  plan: ViewerPlan,
  texts: ViewerTexts,
  onChoose: (group: Group, key: string) => void,
): Picker {
  const element = document.createElement('div');
  element.className = 'picker';
  element.part.add('picker');
  const inputs: { readonly group: Group; readonly key: string; readonly input: HTMLInputElement }[] = [];

  for (const [at, group] of plan.groups.entries()) {
    const fieldset = document.createElement('fieldset');
    fieldset.part.add('group');
    const legend = document.createElement('legend');
    legend.part.add('legend');
    legend.append(isolate(group.label || texts.variants));
    const list = document.createElement('div');
    list.className = 'choices';
    for (const { key, name, hex } of group.choices) {
      const label = document.createElement('label');
      label.part.add('choice');
      const input = document.createElement('input');
      input.type = 'radio';
      input.name = `group-${at}`;
      input.value = key;
      input.addEventListener('change', () => {
        onChoose(group, key);
      });
      inputs.push({ group, key, input });
      label.append(input);
      if (hex !== null) {
        const chip = document.createElement('span');
        chip.className = 'chip';
        chip.part.add('chip');
        chip.style.backgroundColor = hex;
        label.append(chip);
      }
      label.append(isolate(name));
      list.append(label);
    }
    fieldset.append(legend, list);
    element.append(fieldset);
  }

  function show(chosen: Chosen): void {
    for (const { group, key, input } of inputs) input.checked = chosen.get(group.key) === key;
  }

  return { element, show };
}

/** A name keeps its own direction, whatever stands around it. */
function isolate(name: string): HTMLElement {
  const element = document.createElement('bdi');
  element.textContent = name;
  return element;
}
