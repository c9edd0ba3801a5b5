// Where the pages of a plan sheet go: a PDF, one page of a preview, or nowhere while they are
// counted. All of them are drawn in the same units, so that every page is the same drawing
// everywhere.
#pragma once

#include <QImage>
#include <QPainter>

namespace macle::app {

inline constexpr int kUnitsPerInch = 1200;
inline constexpr double kUnitsPerMm = kUnitsPerInch / 25.4;

class PageTarget {
  public:
    virtual ~PageTarget() = default;
    // The painter of page `number`, from 1, in units of 1/1200 inch; pages come in order. It is
    // valid until the next call.
    virtual QPainter& page(int number) = 0;
};

// Takes every page and keeps none.
class NoPages : public PageTarget {
  public:
    NoPages();
    QPainter& page(int number) override;

  private:
    QImage dot_;
    QPainter painter_;
};

// One page on a painter of somebody else's, whose state is kept; the others go nowhere.
class OnePage : public PageTarget {
  public:
    OnePage(QPainter& painter, int number, double dotsPerInch);
    ~OnePage() override;
    QPainter& page(int number) override;

  private:
    NoPages others_;
    QPainter& painter_;
    int number_;
};

}  // namespace macle::app
