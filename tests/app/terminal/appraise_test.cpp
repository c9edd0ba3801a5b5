#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "core/appraise/price_table.h"
#include "core/base/csv.h"
#include "core/base/resources.h"
#include "core/base/text_file.h"
#include "tests/app/terminal/process.h"
#include "tests/app/terminal/schema_check.h"

namespace macle::test {
namespace {

using ::testing::HasSubstr;

std::string resource(const std::string& name) {
    return resourcePath(name).string();
}

// The demo stone with one layout in it.
std::string fittedStone(const Folder& folder) {
    const std::string stone = folder / "stone.macle";
    EXPECT_EQ(macle({"demo", "--out", stone}).status, 0);
    EXPECT_EQ(macle({"fit", stone, "--cut", "round", "--poses", "1500", "--out", stone}).status, 0);
    return stone;
}

TEST(Appraise, GivesEveryFigureAsItsSchemaSays) {
    const Folder folder;
    const std::string stone = fittedStone(folder);
    const Outcome outcome =
        macle({"appraise", stone, "--prices", resource("prices/invented_demo.csv"), "--colour", "G",
               "--turn", "5", "--doubt", "40", "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto json = outcome.json();
    EXPECT_EQ(misfit(json, "appraise"), "");
    const auto finished = macle({"finish", stone, "--json"}).json();
    EXPECT_NEAR(json["weight_ct"].get<double>(), finished["weight_ct"].get<double>(), 1e-9);
    EXPECT_TRUE(json["value"].contains("value"));
    EXPECT_NEAR(json["margin"]["margin"].get<double>(),
                json["value"]["value"].get<double>() - json["work"]["cost"].get<double>(), 1e-6);
    EXPECT_EQ(json["doubt"]["samples"], 40);
    EXPECT_THAT(json["note"].get<std::string>(), HasSubstr("not a grading report"));
    // The same again at another number of threads.
    const Outcome again =
        macle({"appraise", stone, "--prices", resource("prices/invented_demo.csv"), "--colour", "G",
               "--turn", "5", "--doubt", "40", "--threads", "1", "--json"});
    EXPECT_EQ(again.out, outcome.out);
}

TEST(Appraise, SaysInWordsWhatIsKnownAndWhatIsNot) {
    const Folder folder;
    const std::string stone = fittedStone(folder);
    const Outcome outcome = macle({"appraise", stone, "--untraced"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    EXPECT_THAT(outcome.out, HasSubstr("Weight, how it came about"));
    EXPECT_THAT(outcome.out, HasSubstr("not known: No price table is given."));
    EXPECT_THAT(outcome.out, HasSubstr("planning estimate"));
    EXPECT_THAT(outcome.out, HasSubstr("Working days"));
    const Outcome brief = macle({"appraise", stone, "--untraced", "--brief"});
    EXPECT_THAT(brief.out, testing::Not(HasSubstr("how it came about")));
    // Prices from the environment.
    Call call;
    call.arguments = {"appraise", stone, "--untraced", "--colour", "G", "--brief"};
    call.environment["MACLE_PRICES"] = resource("prices/invented_demo.csv");
    EXPECT_THAT(macle(call).out, HasSubstr("invented units"));
}

TEST(Appraise, RefusesWhatItCannotUse) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 5.0), prices = folder / "prices.csv";
    EXPECT_EQ(macle({"appraise", stone}).status, 2) << "no placement";
    EXPECT_EQ(macle({"appraise", stone, "--colour", "green"}).status, 2);
    EXPECT_EQ(macle({"appraise", stone, "--rounding", "up"}).status, 2);
    EXPECT_EQ(macle({"appraise", stone, "--doubt-scan", "0.1"}).status, 2);
    EXPECT_EQ(macle({"appraise", stone, "--doubt", "0"}).status, 2);
    EXPECT_EQ(macle({"appraise", stone, "--factors", "x.csv"}).status, 2);
    EXPECT_EQ(macle({"appraise", stone, "--prices", "no_such.csv"}).status, 1);
    EXPECT_EQ(macle({"appraise", stone, "--rates", "no_such.json"}).status, 1);
    std::ofstream(prices)
        << "shape,weight_from_ct,weight_to_ct,colour,clarity,price_per_ct,currency\n"
           "round,1,x,G,VS1,10,EUR\n";
    const Outcome bad = macle({"appraise", stone, "--prices", prices});
    EXPECT_EQ(bad.status, 1);
    EXPECT_THAT(bad.error, HasSubstr("line 2, column 3 (weight_to_ct): \"x\" is not a number"));
}

TEST(Appraise, ItsOwnFilesKeepToTheirSchemas) {
    const auto json = [](const std::string& name) {
        return nlohmann::json::parse(readTextFile(resourcePath(name), "file", 1u << 20));
    };
    EXPECT_EQ(misfit(json("shop/default_rates.json"), "shop_rates"), "");
    EXPECT_EQ(misfit(json("clarity_scale.json"), "clarity_scale"), "");
    const CsvText csv = parseCsv(readTextFile(demoPrices(), "price table", 1u << 20), "demo");
    std::vector<std::string> heading;
    int rows = 0;
    for (const CsvRow& row : csv.rows) {
        if (row.cells.front() == "shape" || row.cells.front() == "factor") {
            heading = row.cells;
            continue;
        }
        nlohmann::json object;
        for (std::size_t i = 0; i < row.cells.size(); ++i)
            object[heading.at(i)] = row.cells[i];
        ASSERT_EQ(misfit(object, "prices"), "") << "line " << row.line;
        ++rows;
    }
    EXPECT_GT(rows, 900);
}

TEST(Fit, SeeksValueOrClarityInsteadOfWeight) {
    const Folder folder;
    const std::string stone = octahedronFile(folder, 6.0);
    const Outcome outcome =
        macle({"fit", stone, "--cut", "round", "--poses", "1500", "--seek", "value", "--colour",
               "H", "--prices", resource("prices/invented_demo.csv"), "--json"});
    ASSERT_EQ(outcome.status, 0) << outcome.error;
    const auto fit = outcome.json();
    EXPECT_EQ(misfit(fit, "fit"), "");
    EXPECT_EQ(fit["sought"]["by"], "value");
    EXPECT_GE(fit["sought"]["value"].get<double>(),
              fit["sought"]["value_of_heaviest"].get<double>() - 1e-3);
    const Outcome clarity =
        macle({"fit", stone, "--cut", "round", "--poses", "800", "--seek", "clarity"});
    ASSERT_EQ(clarity.status, 0) << clarity.error;
    EXPECT_THAT(clarity.out, HasSubstr("Sought by clarity: clarity may be loupe clean"));
    const Outcome colour =
        macle({"fit", stone, "--cut", "round", "--poses", "300", "--seek", "deep-colour",
               "--spectrum", "pink", "--free", "pavilion=38:42", "--json"});
    ASSERT_EQ(colour.status, 0) << colour.error;
    EXPECT_EQ(misfit(colour.json(), "fit"), "");
    EXPECT_GE(colour.json()["sought"]["chroma"].get<double>(),
              colour.json()["sought"]["chroma_of_heaviest"].get<double>());
    EXPECT_EQ(macle({"fit", stone, "--cut", "round", "--seek", "deep-colour"}).status, 2);
    EXPECT_EQ(
        macle({"fit", stone, "--cut", "round", "--seek", "pale-colour", "--free", "table"}).status,
        2)
        << "no spectrum";
    EXPECT_EQ(macle({"fit", stone, "--cut", "round", "--seek", "beauty"}).status, 2);
    EXPECT_EQ(macle({"fit", stone, "--cut", "round", "--seek", "value"}).status, 2);
}

}  // namespace
}  // namespace macle::test
