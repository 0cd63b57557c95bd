//! A reader with a pocket calculator: evaluates the formulas of workings in tests, and nothing but arithmetic.

/// The value of a formula in numbers with `+ - * / ( )`, `sqrt`, `max`, `min` and `abs`.
pub(super) fn evaluate(formula: &str) -> Result<f64, String> {
    let mut reader = Reader { rest: formula };
    let value = reader.sum()?;
    reader.skip();
    if reader.rest.is_empty() { Ok(value) } else { Err(format!("left over: {}", reader.rest)) }
}

struct Reader<'f> {
    rest: &'f str,
}

impl Reader<'_> {
    fn skip(&mut self) {
        self.rest = self.rest.trim_start_matches(' ');
    }

    fn eat(&mut self, sign: &str) -> bool {
        self.skip();
        self.rest.strip_prefix(sign).map(|rest| self.rest = rest).is_some()
    }

    fn sum(&mut self) -> Result<f64, String> {
        let mut value = self.product()?;
        loop {
            if self.eat("+") {
                value += self.product()?;
            } else if self.eat("-") {
                value -= self.product()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn product(&mut self) -> Result<f64, String> {
        let mut value = self.sign()?;
        loop {
            if self.eat("*") {
                value *= self.sign()?;
            } else if self.eat("/") {
                value /= self.sign()?;
            } else {
                return Ok(value);
            }
        }
    }

    fn sign(&mut self) -> Result<f64, String> {
        if self.eat("-") { Ok(-self.sign()?) } else { self.atom() }
    }

    fn atom(&mut self) -> Result<f64, String> {
        if self.eat("(") {
            let value = self.sum()?;
            return if self.eat(")") {
                Ok(value)
            } else {
                Err(format!("no closing bracket at {}", self.rest))
            };
        }
        for name in ["sqrt", "max", "min", "abs"] {
            if self.eat(name) {
                let values = self.arguments()?;
                return Ok(match name {
                    "sqrt" => values[0].sqrt(),
                    "abs" => values[0].abs(),
                    "max" => values.into_iter().fold(f64::NEG_INFINITY, f64::max),
                    _ => values.into_iter().fold(f64::INFINITY, f64::min),
                });
            }
        }
        self.skip();
        let end = self
            .rest
            .char_indices()
            .take_while(|(at, c)| {
                c.is_ascii_digit()
                    || *c == '.'
                    || *c == 'e'
                    || (*c == '-' && *at > 0 && self.rest[..*at].ends_with('e'))
            })
            .count();
        let (digits, rest) = self.rest.split_at(end);
        self.rest = rest;
        digits.parse().map_err(|_| format!("no number at {digits}{rest}"))
    }

    fn arguments(&mut self) -> Result<Vec<f64>, String> {
        if !self.eat("(") {
            return Err(format!("no bracket at {}", self.rest));
        }
        let mut values = vec![self.sum()?];
        while self.eat(",") {
            values.push(self.sum()?);
        }
        if self.eat(")") { Ok(values) } else { Err(format!("no closing bracket at {}", self.rest)) }
    }
}

#[test]
fn arithmetic_is_evaluated_and_nothing_else() {
    assert_eq!(evaluate("2 + 3 * (4 - 1) / 2"), Ok(6.5));
    assert_eq!(evaluate("max(1, -2, min(5, 4)) - abs(-3)"), Ok(1.0));
    assert_eq!(evaluate("sqrt(3 * 3 + 4 * 4) * 1e-2"), Ok(0.05));
    for wrong in ["", "1 +", "x", "2 2", "sqrt 4", "(1"] {
        assert!(evaluate(wrong).is_err(), "{wrong}");
    }
}
