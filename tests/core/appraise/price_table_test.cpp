// The user's price table: read exactly, refused with line and column.
#include "core/appraise/price_table.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/base/csv.h"
#include "core/base/error.h"

using namespace macle;
using ::testing::HasSubstr;

namespace {

const std::string kHeading =
    "shape,weight_from_ct,weight_to_ct,colour,clarity,price_per_ct,currency\n";
const std::string kRow = "round,1.00,1.49,G,VS1,4200,EUR\n";

std::string refusalOf(const std::string& text) {
    try {
        parsePrices(text, "prices.csv");
    } catch (const Error& error) {
        EXPECT_EQ(error.code(), ErrorCode::BadInput);
        EXPECT_FALSE(error.remedy().empty());
        return error.message();
    }
    return "";
}

}  // namespace

TEST(Csv, ReadsCellsAsRfc4180Says) {
    const CsvText csv = parseCsv(
        "\xEF\xBB\xBF# a note \r\na, b ,\"c,\"\"d\"\"\r\ne\"\r\n\r\n1,,\n# another\nlast", "f.csv");
    EXPECT_THAT(csv.notes, testing::ElementsAre("a note", "another"));
    ASSERT_EQ(csv.rows.size(), 3u);
    EXPECT_THAT(csv.rows[0].cells, testing::ElementsAre("a", "b", "c,\"d\"\r\ne"));
    EXPECT_EQ(csv.rows[0].line, 2);
    EXPECT_THAT(csv.rows[1].cells, testing::ElementsAre("1", "", ""));
    EXPECT_EQ(csv.rows[1].line, 5);
    EXPECT_THAT(csv.rows[2].cells, testing::ElementsAre("last"));
    EXPECT_EQ(csv.rows[2].line, 7);
    EXPECT_TRUE(parseCsv("", "f.csv").rows.empty());
    EXPECT_THROW(parseCsv("a,\"b", "f.csv"), Error);
    EXPECT_THROW(parseCsv("a,b\"c\"", "f.csv"), Error);
    EXPECT_THROW(parseCsv("a,\"b\"c", "f.csv"), Error);
    EXPECT_THROW(parseCsv("a,b,c,d", "f.csv", 3), Error);
}

TEST(PriceTable, ReadsRowsAndFactors) {
    const PriceTable table = parsePrices(
        "# of the works\n" + kHeading + kRow + "any,0.50,0.99,D-F,\"VS1-SI1\",2000.5,EUR\n" +
            "any,0.50,0.99,any,P3,20,EUR\n\nfactor,grade,times\nfluorescence,strong,0.9\ncut,2,1\n",
        "prices.csv");
    ASSERT_EQ(table.rows.size(), 3u);
    EXPECT_EQ(table.currency, "EUR");
    EXPECT_EQ(table.note, "of the works");
    EXPECT_EQ(table.rows[0].from_hundredths, 100);
    EXPECT_EQ(table.rows[0].to_hundredths, 149);
    EXPECT_EQ(table.rows[0].line, 3);
    EXPECT_EQ(table.rows[1].shape, "");
    EXPECT_EQ(table.rows[1].colourFrom, 'D');
    EXPECT_EQ(table.rows[1].colourTo, 'F');
    EXPECT_EQ(table.rows[1].clarity, (ClarityRange{3, 5}));
    EXPECT_EQ(table.rows[1].price_per_ct, 2000.5);
    EXPECT_EQ(priceRowText(table.rows[1]), "any shape, 0.50 to 0.99 ct, D-F, VS1-SI1");
    ASSERT_EQ(table.factors.size(), 2u);
    EXPECT_EQ(table.factors[0].times, 0.9);
}

TEST(PriceTable, TheDemoTableIsSoundAndSaysThatItIsInvented) {
    const PriceTable table = readPrices({demoPrices()});
    EXPECT_GT(table.rows.size(), 800u);
    EXPECT_THAT(table.note, HasSubstr("INVENTED"));
    EXPECT_EQ(table.currency, "invented units");
}

TEST(PriceTable, RefusesWithLineAndColumn) {
    const std::vector<std::pair<std::string, std::string>> bad = {
        {"", "holds no price table"},
        {"shape;weight_from_ct\n", "line 1, column 1: this is no heading"},
        {kRow, "line 1, column 1: this is no heading"},
        {kHeading + "round,1.00,1.49,G,VS1,4200\n",
         "line 2, column 6 (price_per_ct): the row has 6"},
        {kHeading + "rund,1.00,1.49,G,VS1,4200,EUR\n", "line 2, column 1 (shape): there is no cut"},
        {kHeading + "round,\"1,00\",1.49,G,VS1,4200,EUR\n",
         "line 2, column 2 (weight_from_ct): \"1,00\" is not a number"},
        {kHeading + "round,1.00,1.495,G,VS1,4200,EUR\n",
         "line 2, column 3 (weight_to_ct): 1.495 has more than two decimals"},
        {kHeading + "round,1.50,1.49,G,VS1,4200,EUR\n",
         "line 2, column 3 (weight_to_ct): the band ends"},
        {kHeading + "round,-1,1.49,G,VS1,4200,EUR\n",
         "column 2 (weight_from_ct): -1 is out of range"},
        {kHeading + "round,1,1.49,g,VS1,4200,EUR\n", "column 4 (colour): \"g\" is no colour"},
        {kHeading + "round,1,1.49,H-F,VS1,4200,EUR\n", "column 4 (colour)"},
        {kHeading + "round,1,1.49,,VS1,4200,EUR\n", "column 4 (colour)"},
        {kHeading + "round,1,1.49,G,VS3,4200,EUR\n", "column 5 (clarity): \"VS3\""},
        {kHeading + "round,1,1.49,G,SI1-VS1,4200,EUR\n", "column 5 (clarity)"},
        {kHeading + "round,1,1.49,G,VS1,0,EUR\n", "column 6 (price_per_ct): 0 is out of range"},
        {kHeading + "round,1,1.49,G,VS1,nan,EUR\n", "column 6 (price_per_ct): \"nan\""},
        {kHeading + "round,1,1.49,G,VS1,1e99,EUR\n", "column 6 (price_per_ct): 1e99 is out of"},
        {kHeading + "round,1,1.49,G,VS1,4200,\n", "column 7 (currency): no currency"},
        {kHeading + kRow + "round,2,3,G,VS1,4200,USD\n",
         "line 3, column 7 (currency): the currency"},
        {kHeading + kRow + "round,1.49,3,F-H,VS,4200,EUR\n",
         "line 3, column 1: this row (round, 1.49 to 3.00 ct, F-H, VS1-VS2) overlaps line 2"},
        {"factor,grade,times\nshine,1,1\n", "line 2, column 1 (factor): \"shine\" is no factor"},
        {"factor,grade,times\ncut,6,1\n", "line 2, column 2 (grade): \"6\" is no band"},
        {"factor,grade,times\nfluorescence,blue,1\n", "line 2, column 2 (grade): \"blue\""},
        {"factor,grade,times\ncut,1,1\ncut,1,1\n", "line 3, column 2 (grade): the factor"},
        {"factor,grade,times\ncut,1,-1\n", "line 2, column 3 (times): -1 is out of range"},
        {kHeading + "round,\"1.00", "line 2, column 2: a quoted cell does not end"}};
    for (const auto& [text, words] : bad)
        EXPECT_THAT(refusalOf(text), HasSubstr(words)) << text;
    EXPECT_THROW(readPrices({"/nowhere/prices.csv"}), Error);
}
