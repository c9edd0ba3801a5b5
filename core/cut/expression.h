// Arithmetic written in a cut file: numbers, names, + - * / and ( ), and the functions
// sin cos tan (of degrees), asin acos atan (in degrees), sqrt, abs, min(a, b), max(a, b),
// atan2(y, x) (in degrees).
#pragma once

#include <map>
#include <string>
#include <string_view>

namespace macle {

using NamedNumbers = std::map<std::string, double, std::less<>>;

// Throws Error{BadInput} that quotes the text and says what in it is wrong: an unknown name, a
// missing bracket; Error{NoSolution} when the result is no finite number.
double evaluate(std::string_view text, const NamedNumbers& names);

}  // namespace macle
