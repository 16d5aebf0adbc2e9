import * as tf from "@tensorflow/tfjs";
import { setWasmPaths } from "@tensorflow/tfjs-backend-wasm";

/** Names and shapes of a network's weights, in the order of its float16 binary; written by `training/export.py`. */
export interface WeightList {
  readonly tensors: readonly { readonly name: string; readonly shape: readonly number[] }[];
  readonly example: { readonly at: readonly number[]; readonly given: readonly number[] };
}
type Node = tf.SymbolicTensor;

/** What a network takes: `rows × columns × channels`. */
export interface Intake {
  readonly rows: number;
  readonly columns: number;
  readonly channels: number;
}

/** Synchronous: `rows × columns × channels` in; the head's logits, class by class within each cell, out. */
export type Network = (input: Float32Array) => Float32Array;

/**
 * A network of `training/networks.py` in TensorFlow.js layers with its trained weights, built once.
 *
 * @param weights  float16 numbers in the list's order; batch norm is folded into them already.
 */
export function loadNetwork(intake: Intake, body: Body, list: WeightList, weights: Uint16Array): Network {
  const shape = [intake.rows, intake.columns, intake.channels];
  const input = tf.input({ shape });
  const layers = layersWith(list, weights);
  const model = tf.model({ inputs: input, outputs: body(layers, input) });
  layers.settle();
  return (values) => {
    // only tensors may leave tidy: it walks through whatever else comes out, number by number
    const head = tf.tidy(() => model.predict(tf.tensor(values, [1, ...shape]))) as tf.Tensor;
    const logits = head.dataSync() as Float32Array;
    head.dispose();
    return logits;
  };
}

/** How a network is built from its layers. */
export type Body = (layers: Layers, input: Node) => Node;

/**
 * The U-Net of classes and outline: halved at once, pooled `widths.length − 1` times, back up to half size.
 *
 * @param attends  After how many pairs of the bottom's four layers each place looks at all others.
 * @param deeper  Whether a third layer adds to each pair, but at half size.
 */
export function uNet(widths: readonly number[], attends = 0, deeper = false): Body {
  return ({ conv, separable, dense }, input) => {
    const pair = (from: Node, path: string, level: number): Node => {
      const x = separable(separable(from, `${path}/${level}/0`), `${path}/${level}/1`);
      if (!deeper || level === 0) return x;
      return tf.layers.add().apply([x, separable(x, `${path}/${level}/2`)]) as Node;
    };
    let x = conv(input, "body/first", 3, { strides: 2, activation: "relu" });
    const skips: Node[] = [];
    for (let level = 0; level < widths.length; level++) {
      if (level) x = tf.layers.maxPooling2d({ poolSize: 2 }).apply(x) as Node;
      x = pair(x, "body/down", level);
      skips.push(x);
    }
    const mean = tf.layers.globalAveragePooling2d({}).apply(x) as Node;
    const whole = tf.layers.reshape({ targetShape: [1, 1, widths.at(-1)!] }).apply(dense(mean, "body/whole", "relu"));
    x = tf.layers.add().apply([x, whole as Node]) as Node;
    for (const [n, dilation] of [1, 2, 4, 1].entries()) {
      x = tf.layers.add().apply([x, separable(x, `body/bottom/${n}`, dilation)]) as Node;
      if (n % 2 === 0 || n >> 1 >= attends) continue;
      const path = `body/attend/${n >> 1}`;
      const halved = tf.layers.averagePooling2d({ poolSize: 2 }).apply(x) as Node;
      const told = new Attend({}).apply([conv(x, `${path}/ask`, 1), conv(halved, `${path}/offer`, 1)]) as Node;
      x = tf.layers.add().apply([x, conv(told, `${path}/tell`, 1)]) as Node;
    }
    for (let level = widths.length - 2; level >= 0; level--) {
      const [, rows, columns] = skips[level]!.shape as [null, number, number];
      x = new Enlarge({ rows, columns }).apply(x) as Node;
      x = tf.layers.concatenate({ axis: -1 }).apply([x, skips[level]!]) as Node;
      x = pair(x, "body/up", level);
    }
    return conv(x, "head", 1);
  };
}

/** The picture is halved four times, then all of it is weighed at once. */
export const classifier: Body = ({ conv, separable, dense }, input) => {
  let x = conv(input, "first", 3, { strides: 2, activation: "relu" });
  for (let k = 0; k < 6; k++) {
    x = separable(x, `layers/${k}`);
    if (k % 2) x = tf.layers.maxPooling2d({ poolSize: 2 }).apply(x) as Node;
  }
  const flat = tf.layers.flatten().apply(x) as Node;
  return dense(dense(flat, "inner", "relu"), "head");
};

type Layers = ReturnType<typeof layersWith>;
/** Layers that take their weights from the list by name, once `settle` is called. */
function layersWith({ tensors }: WeightList, weights: Uint16Array) {
  const listed = tensors.reduce((sum, { shape }) => sum + shape.reduce((a, b) => a * b, 1), 0);
  if (listed !== weights.length) throw new RangeError(`weights: ${weights.length} numbers, ${listed} listed`);
  const values = halfToFloat(weights);
  const at = new Map<string, tf.Tensor>();
  let offset = 0;
  for (const { name, shape } of tensors) {
    const size = shape.reduce((a, b) => a * b, 1);
    at.set(name, tf.tensor(values.subarray(offset, offset + size), [...shape]));
    offset += size;
  }
  const weight = (name: string) => at.get(name)!;
  const waiting: (() => void)[] = [];
  const use = (layer: tf.layers.Layer, names: readonly string[], from: Node) => {
    const given = layer.apply(from) as Node;
    waiting.push(() => layer.setWeights(names.map(weight)));
    return given;
  };
  const conv = (
    x: Node,
    path: string,
    kernelSize: number,
    how: { strides?: number; activation?: "relu" } = {},
  ): Node => {
    const filters = weight(`${path}/kernel`).shape[3]!;
    const layer = tf.layers.conv2d({ filters, kernelSize, padding: "same", ...how });
    return use(layer, [`${path}/kernel`, `${path}/bias`], x);
  };
  const separable = (x: Node, path: string, dilationRate = 1): Node => {
    const kernel = weight(`${path}/depth`) as tf.Tensor4D;
    const deep = use(new Depthwise(kernel.shape, dilationRate), [`${path}/depth`], x);
    return conv(deep, path, 1, { activation: "relu" });
  };
  const dense = (x: Node, path: string, activation?: "relu"): Node => {
    const units = weight(`${path}/kernel`).shape[1]!;
    const layer = tf.layers.dense({ units, ...(activation && { activation }) });
    return use(layer, [`${path}/kernel`, `${path}/bias`], x);
  };
  const settle = () => {
    for (const set of waiting) set();
    for (const tensor of at.values()) tensor.dispose();
  };
  return { conv, separable, dense, settle };
}

/** Depthwise convolution, "same"; the library's own layer takes no dilation: it drops it without a word (4.22). */
class Depthwise extends tf.layers.Layer {
  static className = "Depthwise";
  readonly #kernel: tf.LayerVariable;
  readonly #dilation: number;
  constructor(shape: tf.Shape, dilation: number) {
    super({});
    this.#kernel = this.addWeight("depth", shape, "float32", tf.initializers.zeros());
    this.#dilation = dilation;
    this.built = true;
  }
  override computeOutputShape(shape: tf.Shape): tf.Shape {
    return shape;
  }
  override call(inputs: tf.Tensor | tf.Tensor[]): tf.Tensor {
    const x = (Array.isArray(inputs) ? inputs[0]! : inputs) as tf.Tensor4D;
    return tf.depthwiseConv2d(x, this.#kernel.read() as tf.Tensor4D, 1, "same", "NHWC", this.#dilation);
  }
}

/** Heads of attention, as in `training/networks.py`. */
const HEADS = 4;

/** Attention: what each place is told, from what it asks and from the keys and then the values that the places of another plane offer. */
class Attend extends tf.layers.Layer {
  static className = "Attend";
  override computeOutputShape(shapes: tf.Shape | tf.Shape[]): tf.Shape {
    return (shapes as tf.Shape[])[0]!;
  }
  override call(inputs: tf.Tensor | tf.Tensor[]): tf.Tensor {
    const [ask, offer] = inputs as [tf.Tensor4D, tf.Tensor4D];
    const inner = ask.shape[3];
    const byHead = (x: tf.Tensor) => x.reshape([-1, HEADS, inner / HEADS]).transpose([1, 0, 2]);
    const [keys, values] = tf.split(offer, 2, 3).map(byHead);
    const weights = byHead(ask)
      .matMul(keys!, false, true)
      .div(Math.sqrt(inner / HEADS))
      .softmax();
    return weights.matMul(values!).transpose([1, 0, 2]).reshape(ask.shape);
  }
}

/** Bilinear enlargement with half-pixel centres, as PyTorch's `align_corners=False`; upSampling2d has other centres. */
class Enlarge extends tf.layers.Layer {
  static className = "Enlarge";
  readonly #size: [number, number];
  constructor({ rows, columns }: { rows: number; columns: number }) {
    super({});
    this.#size = [rows, columns];
  }
  override computeOutputShape(shape: tf.Shape): tf.Shape {
    return [shape[0]!, ...this.#size, shape[3]!];
  }
  override call(inputs: tf.Tensor | tf.Tensor[]): tf.Tensor {
    const x = (Array.isArray(inputs) ? inputs[0]! : inputs) as tf.Tensor4D;
    return tf.image.resizeBilinear(x, this.#size, false, true);
  }
}

/** IEEE 754 binary16 → numbers. */
function halfToFloat(half: Uint16Array): Float32Array {
  return Float32Array.from(half, (bits) => {
    const [sign, exponent, fraction] = [bits & 0x8000 ? -1 : 1, (bits >> 10) & 31, bits & 1023];
    if (exponent === 0) return sign * fraction * 2 ** -24;
    return sign * (1 + fraction / 1024) * 2 ** (exponent - 15);
  });
}

/** Make TensorFlow.js ready on WebAssembly. @param files  the folder of the backend's .wasm files, ending in "/", or each by name. */
export async function readyTensors(files: Parameters<typeof setWasmPaths>[0]): Promise<void> {
  setWasmPaths(files);
  await tf.setBackend("wasm");
  await tf.ready();
}
