import type { Accessor, Document, Node } from '@gltf-transform/core';
import {
  EXTMeshGPUInstancing,
  KHRLightsPunctual,
  KHRMaterialsVariants,
  KHRMaterialsVolume,
} from '@gltf-transform/extensions';
import { addPart, addTexture, createDocument } from './build-model.ts';

/** Parts, textures, a skin, morph targets, animations of every kind, instances, lights, a camera, variants, a volume. */
export async function makeRichModel(): Promise<Document> {
  const document = createDocument();
  const root = document.getRoot();
  const scene = root.listScenes()[0]!;
  const buffer = root.listBuffers()[0]!;
  const floats = (type: 'SCALAR' | 'VEC3' | 'VEC4' | 'MAT4', values: number[]) =>
    document.createAccessor().setType(type).setArray(new Float32Array(values)).setBuffer(buffer);
  const cloth = document.createMaterial('Cloth').setBaseColorTexture(await addTexture(document, 'weave', 1));
  const glass = document.createMaterial('Glass');
  const volume = document.createExtension(KHRMaterialsVolume);
  glass.setExtension(
    'KHR_materials_volume',
    volume.createVolume().setThicknessFactor(0.01).setAttenuationDistance(0.5),
  );
  const seat = addPart(document, { name: 'Seat', material: cloth });
  const leg = addPart(document, { name: 'Leg', material: document.createMaterial('Legs'), colours: true });
  const pane = addPart(document, { name: 'Pane', material: glass });
  const [seatNode, legNode, paneNode] = scene.listChildren();
  seatNode!.setScale([2, 2, 2]).setRotation([0, Math.SQRT1_2, 0, Math.SQRT1_2]);
  legNode!.setTranslation([1, 0, 0]).setScale([-1, 1, 1]);
  paneNode!.setTranslation([0, 1, 0]);
  const group = document.createNode('Legs').setRotation([Math.SQRT1_2, 0, 0, Math.SQRT1_2]);
  for (const x of [2, 3]) group.addChild(document.createNode(`Leg ${x}`).setMesh(leg).setTranslation([x, 0, 0]));
  scene.addChild(group);

  const variants = document.createExtension(KHRMaterialsVariants);
  const red = document.createMaterial('Red');
  const mapping = variants.createMapping().setMaterial(red).addVariant(variants.createVariant('Red'));
  seat.listPrimitives()[0]!.setExtension('KHR_materials_variants', variants.createMappingList().addMapping(mapping));

  const primitive = pane.listPrimitives()[0]!;
  const count = primitive.getAttribute('POSITION')!.getCount();
  const bulge = Array.from({ length: count * 3 }, (_, i) => (i % 3 === 1 ? 0.1 : 0));
  primitive.addTarget(document.createPrimitiveTarget().setAttribute('POSITION', floats('VEC3', bulge)));
  pane.setWeights([0]);

  const swing = document.createNode('Swing').setTranslation([0, 0, 2]);
  swing.addChild(document.createNode('Hanging').setMesh(seat).setScale([0.5, 0.5, 0.5]));
  scene.addChild(swing);
  const times = floats('SCALAR', [0, 1]);
  const animation = document.createAnimation('Swinging');
  const drive = (node: Node, path: 'translation' | 'weights', output: Accessor) => {
    const sampler = document.createAnimationSampler().setInput(times).setOutput(output);
    const channel = document.createAnimationChannel().setTargetNode(node).setTargetPath(path).setSampler(sampler);
    animation.addSampler(sampler).addChannel(channel);
  };
  drive(swing, 'translation', floats('VEC3', [0, 0, 2, 0, 1, 2]));
  drive(paneNode!, 'weights', floats('SCALAR', [0, 1]));

  const joint = document.createNode('Joint').setTranslation([0, 0.5, 0]);
  scene.addChild(joint);
  const skinned = addPart(document, { name: 'Cushion', material: cloth });
  const skin = document.createSkin('Skin').addJoint(joint);
  skin.setInverseBindMatrices(floats('MAT4', [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, -0.5, 0, 1]));
  const skinPrimitive = skinned.listPrimitives()[0]!;
  const vertices = skinPrimitive.getAttribute('POSITION')!.getCount();
  skinPrimitive.setAttribute(
    'JOINTS_0',
    document
      .createAccessor()
      .setType('VEC4')
      .setArray(new Uint8Array(vertices * 4))
      .setBuffer(buffer),
  );
  skinPrimitive.setAttribute(
    'WEIGHTS_0',
    floats(
      'VEC4',
      Array.from({ length: vertices * 4 }, (_, i) => (i % 4 ? 0 : 1)),
    ),
  );
  scene.listChildren().at(-1)!.setSkin(skin);

  const instancing = document.createExtension(EXTMeshGPUInstancing);
  const batch = instancing.createInstancedMesh().setAttribute('TRANSLATION', floats('VEC3', [0, 0, -1, 0, 0, -2]));
  scene.addChild(document.createNode('Studs').setMesh(leg).setExtension('EXT_mesh_gpu_instancing', batch));
  const lights = document.createExtension(KHRLightsPunctual);
  const light = lights.createLight('Bulb').setType('point').setRange(3);
  scene.addChild(document.createNode('Bulb').setTranslation([0, 2, 0]).setExtension('KHR_lights_punctual', light));
  const camera = document.createCamera('Eye').setType('perspective').setYFov(0.8).setZNear(0.1).setZFar(100);
  scene.addChild(document.createNode('Eye').setCamera(camera).setTranslation([0, 1, 3]));
  document.createNode('Spare').setMesh(leg);
  document.createMaterial('Nobody’s');
  return document;
}
