/**
 * Emscripten's bindings write the source of a function for each call between script and WebAssembly, which a policy without
 * `unsafe-eval` refuses. These do the same without writing source.
 */
const CALLS: readonly (readonly [written: string, plain: string])[] = [
  [
    'let[args,invokerFnBody]=createJsInvoker(argTypes,isClassMethodFunc,returns,isAsync);args.push(invokerFnBody);var invokerFn=newFunc(Function,args)(...closureArgs);',
    `var invokerFn = function (...given) {
  if (given.length !== argCount - 2) throwBindingError('function ' + humanName + ' called with ' + given.length + ' arguments, expected ' + (argCount - 2));
  var destructors = needsDestructorStack ? [] : null;
  var wired = isClassMethodFunc ? [argTypes[1].toWireType(destructors, this)] : [];
  for (var i = 0; i < given.length; ++i) wired.push(argTypes[i + 2].toWireType(destructors, given[i]));
  var rv = cppInvokerFunc(cppTargetFunc, ...wired);
  if (needsDestructorStack) runDestructors(destructors);
  else for (var i = isClassMethodFunc ? 1 : 2; i < argTypes.length; ++i)
    if (argTypes[i].destructorFunction !== null) argTypes[i].destructorFunction(wired[i - (isClassMethodFunc ? 1 : 2)]);
  return returns ? argTypes[0].fromWireType(rv) : undefined;
};`,
  ],
  [
    'var invokerFunction=newFunc(Function,params)(...args);',
    `var invokerFunction = function (obj, func, destructorsRef, from) {
  var given = types.map((type) => {
    var value = type.readValueFromPointer(from);
    from += type.argPackAdvance;
    return value;
  });
  var rv = kind === 1 ? new func(...given) : kind === 0 ? func.call(obj, ...given) : func.call(...given);
  return retType.isVoid ? undefined : emval_returnValue(retType, destructorsRef, rv);
};`,
  ],
];

/** @throws Error when the script is of another version of Emscripten */
export function writePlainCalls(script: string): string {
  return CALLS.reduce((text, [written, plain]) => {
    if (text.split(written).length !== 2) throw new Error(written);
    return text.replace(written, () => plain);
  }, script);
}
