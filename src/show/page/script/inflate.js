/* What src/show/page/page_packed.c wrote: a zlib stream (RFC 1950) of deflate blocks (RFC 1951). At once, as paper
 * does not wait. */

const LENGTHS = {base: [3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258],
                 extra: [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0]};
const DISTANCES = {base: [1, 2, 3, 4, 5, 7, 9, 13, 17, 25, 33, 49, 65, 97, 129, 193, 257, 385, 513, 769, 1025, 1537, 2049, 3073, 4097, 6145,
                          8193, 12289, 16385, 24577],
                   extra: [0, 0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 13]};
const ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];
const LONGEST = 15;

/* Canonical codes as a table over the next LONGEST bits, lowest first: symbol · 16 + length; 0: no code. */
function codeTable(lengths) {
    const table = new Uint16Array(1 << LONGEST), count = new Uint16Array(LONGEST + 1), next = new Uint16Array(LONGEST + 2);
    for (const n of lengths)
        count[n] += n ? 1 : 0;
    for (let n = 1; n <= LONGEST; n++)
        next[n + 1] = next[n] + count[n] << 1;
    lengths.forEach((n, symbol) => {
        if (!n)
            return;
        let code = next[n]++, turned = 0;
        for (let i = 0; i < n; i++, code >>= 1)
            turned = turned << 1 | code & 1;
        for (; turned < table.length; turned += 1 << n)
            table[turned] = symbol << 4 | n;
    });
    return table;
}

let fixedTables = null;

function fixedCodes() {
    if (!fixedTables) {
        const lengths = Array.from({length: 288}, (_, i) => i < 144 ? 8 : i < 256 ? 9 : i < 280 ? 7 : 8);
        fixedTables = [codeTable(lengths), codeTable(new Array(30).fill(5))];
    }
    return fixedTables;
}

class Inflater {
    constructor(bytes) {
        this.bytes = bytes;
        this.at = 2; /* past the header */
        this.hold = 0;
        this.held = 0;
        this.out = new Uint8Array(Math.max(1024, 8 * bytes.length));
        this.n = 0;
    }
    need(bits) {
        while (this.held < bits) {
            this.hold |= (this.at < this.bytes.length ? this.bytes[this.at] : 0) << this.held;
            this.at++;
            this.held += 8;
        }
    }
    bits(n) {
        this.need(n);
        const value = this.hold & (1 << n) - 1;
        this.hold >>>= n;
        this.held -= n;
        return value;
    }
    symbol(table) {
        this.need(LONGEST);
        const entry = table[this.hold & (1 << LONGEST) - 1], n = entry & 15;
        if (!n || this.at > this.bytes.length + 4)
            throw new Error("packed data are damaged");
        this.hold >>>= n;
        this.held -= n;
        return entry >> 4;
    }
    room(more) {
        if (this.n + more <= this.out.length)
            return;
        const bigger = new Uint8Array(2 * this.out.length + more);
        bigger.set(this.out);
        this.out = bigger;
    }
    stored() {
        this.bits(this.held & 7);
        const size = this.bits(16);
        this.bits(16); /* its complement */
        this.at -= this.held >> 3;
        this.hold = this.held = 0;
        this.room(size);
        this.out.set(this.bytes.subarray(this.at, this.at + size), this.n);
        this.at += size;
        this.n += size;
    }
    codes() {
        const literals = this.bits(5) + 257, distances = this.bits(5) + 1, few = this.bits(4) + 4, small = new Array(19).fill(0);
        for (let i = 0; i < few; i++)
            small[ORDER[i]] = this.bits(3);
        const table = codeTable(small), lengths = [];
        while (lengths.length < literals + distances) {
            const symbol = this.symbol(table);
            const times = symbol < 16 ? 1 : symbol === 16 ? 3 + this.bits(2) : symbol === 17 ? 3 + this.bits(3) : 11 + this.bits(7);
            const length = symbol < 16 ? symbol : symbol === 16 ? lengths[lengths.length - 1] : 0;
            for (let i = 0; i < times; i++)
                lengths.push(length);
        }
        return [codeTable(lengths.slice(0, literals)), codeTable(lengths.slice(literals))];
    }
    coded([literal, distance]) {
        for (let symbol; (symbol = this.symbol(literal)) !== 256;) {
            this.room(258);
            if (symbol < 256) {
                this.out[this.n++] = symbol;
                continue;
            }
            const length = LENGTHS.base[symbol - 257] + this.bits(LENGTHS.extra[symbol - 257]), far = this.symbol(distance);
            const from = this.n - DISTANCES.base[far] - this.bits(DISTANCES.extra[far]);
            for (let i = 0; i < length; i++) /* may run into what it writes */
                this.out[this.n++] = this.out[from + i];
        }
    }
    all() {
        for (let last = 0; !last;) {
            last = this.bits(1);
            const kind = this.bits(2);
            if (kind === 0)
                this.stored();
            else
                this.coded(kind === 1 ? fixedCodes() : this.codes());
        }
        return this.out.subarray(0, this.n);
    }
}

function unpacked(base64) {
    return new TextDecoder().decode(new Inflater(bytesOf(base64)).all());
}
