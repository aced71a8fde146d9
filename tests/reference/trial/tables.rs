//! Tables and worked numbers, each with the R command that gave it. Tolerances are half a unit of the last digit given,
//! wider where the comment says so.

use lowstave::trial::statistics::{
    Between, Contrast, Scatter, Year, common_gain, effective_number, exit_probability, holm,
    least_difference, normal_quantile, o_brien_fleming, paired_least_difference, paired_t, pool,
    sign_flip, strips_needed, student_t_quantile,
};

use super::close;

/// Handbook table of Student's t (also any statistics book): two-sided 5 % and 10 %.
#[test]
fn student_quantiles_are_those_of_the_table() {
    for (nu, five) in [(2.0, 4.303), (3.0, 3.182), (4.0, 2.776), (9.0, 2.262)] {
        close(student_t_quantile(0.975, nu), five, 5e-4);
    }
    for (nu, ten) in [(3.0, 2.353), (4.0, 2.132), (5.0, 2.015), (7.0, 1.895)] {
        close(student_t_quantile(0.95, nu), ten, 5e-4);
    }
    close(normal_quantile(0.95), 1.644_853_63, 1e-7);
    assert!(student_t_quantile(0.95, 0.0).is_nan());
    assert!(student_t_quantile(1.0, 3.0).is_nan());
}

/// `p.adjust(c(.01,.04,.03,.005),"holm")`
#[test]
fn holm_steps_down() {
    assert_eq!(holm(&[0.01, 0.04, 0.03, 0.005]), [0.03, 0.06, 0.06, 0.02]);
    assert_eq!(holm(&[]), Vec::<f64>::new());
    assert_eq!(holm(&[0.9, 0.8]), [1.0, 1.0]);
}

/// `power.t.test(n=m,sd=1,sig.level=.1,power=.8,type="paired",strict=TRUE)`
#[test]
fn the_paired_table_is_that_of_the_noncentral_t() {
    let table = [
        (3, 2.2973),
        (4, 1.6497),
        (6, 1.1858),
        (8, 0.9781),
        (12, 0.7664),
    ];
    for (pairs, wanted) in table {
        close(paired_least_difference(pairs), wanted, 5e-5);
    }
    assert!(paired_least_difference(1).is_nan());
}

/// Formula of the variance of an autoregressive mean, evaluated in R.
#[test]
fn correlated_points_are_worth_fewer() {
    let table = [
        (20, 0.3, 11.1364),
        (20, 0.6, 5.5172),
        (20, 0.9, 1.8027),
        (40, 0.3, 21.8994),
        (40, 0.6, 10.4918),
        (40, 0.9, 2.7460),
    ];
    for (points, correlation, wanted) in table {
        close(effective_number(points, correlation), wanted, 5e-5);
    }
}

/// Six differences of a strip trial: paired t by hand (`t.test(d, conf.level=.9)`), `wilcox.test(d,conf.int=TRUE,conf.level=.9)` for the centre.
#[test]
fn six_pairs_are_tested_by_t_and_by_signs() {
    let differences = [4.1, 2.3, 5.0, -0.8, 3.2, 1.9];
    let t = paired_t(&differences).unwrap();
    close(t.mean, 2.616_67, 1e-5);
    close(t.standard_error, 0.8268, 5e-5);
    close(t.interval.0, 0.9506, 5e-5);
    close(t.interval.1, 4.2827, 5e-5);
    let signs = sign_flip(&differences).unwrap();
    assert_eq!((signs.p, signs.least_p), (4.0 / 64.0, 2.0 / 64.0));
    close(signs.centre, 2.75, 1e-12);
    assert_eq!(sign_flip(&differences[..4]).unwrap().least_p, 0.125);
    assert!(paired_t(&[1.0]).is_none() && sign_flip(&[]).is_none());
}

/// `metafor::rma(y,v,method=,test="knha",level=90)`; here without the floor of the standard error.
#[test]
fn seasons_are_pooled_as_by_metafor() {
    let gains = [0.42, 0.10, 0.31, 0.55];
    let errors = [0.12, 0.15, 0.10, 0.20];
    let years: Vec<Year> = gains
        .iter()
        .zip(errors)
        .map(|(&gain, standard_error)| Year {
            gain,
            standard_error,
        })
        .collect();
    let pooled = pool(&years, Between::PauleMandel).unwrap();
    // metafor stops its search where two steps differ by less than 1e-4 of the root; ours goes on to the last digit.
    close(pooled.gain, 0.329_955_4, 2e-6);
    close(pooled.between, 0.009_384_267, 2e-5);
    close(pooled.plain_hartung_knapp, 0.082_980_6, 5e-6);
    let half = student_t_quantile(0.95, 3.0) * pooled.plain_hartung_knapp;
    close(pooled.gain - half, 0.134_671_8, 2e-5);
    close(pooled.gain + half, 0.525_239_0, 2e-5);
    assert!(pooled.standard_error >= pooled.plain && pooled.interval.0 <= pooled.gain - half);
    let moments = pool(&years, Between::DerSimonianLaird).unwrap();
    close(moments.gain, 0.329_462_3, 5e-8);
    close(moments.between, 0.007_005_936, 5e-10);
    close(moments.plain, 0.078_888_4, 5e-8);
    let (common, interval) = common_gain(&years).unwrap();
    close(common.gain, 0.328_023_3, 5e-8);
    close(common.standard_error, 0.064_699_7, 5e-8);
    close(interval.0, 0.221_601_8, 5e-7);
    // Half-width 1.644854 × 0.0646997; the upper end is the mirror of the lower one.
    close(interval.1, 0.434_444_8, 5e-7);
    assert!(pool(&years[..2], Between::PauleMandel).is_none());
}

/// Seasons that differ less than chance would have them have no variance between them.
#[test]
fn equal_seasons_have_no_variance_between_them() {
    let years = [Year {
        gain: 0.3,
        standard_error: 0.1,
    }; 4];
    let pooled = pool(&years, Between::PauleMandel).unwrap();
    assert_eq!(pooled.between, 0.0);
    close(pooled.standard_error, 0.05, 1e-12);
}

/// `mvtnorm::pmvnorm(-c*sqrt(K/1:K),c*sqrt(K/1:K),sigma=sqrt(min(i,j)/max(i,j)))`, K = 3; agrees with Jennison, C. and Turnbull, B.W. 2000.
/// Group Sequential Methods, table 2.3 (2.004) and table 2.1 (2.289) (from memory).
#[test]
fn limits_for_a_look_every_season_are_those_of_the_multivariate_normal() {
    let five = o_brien_fleming(3, 0.05);
    for (found, wanted) in five.iter().zip([3.4711, 2.4544, 2.0040]) {
        close(*found, wanted, 5e-5);
    }
    close(five[2], 2.004_036, 5e-6);
    for (found, wanted) in o_brien_fleming(3, 0.10)
        .iter()
        .zip([2.9611, 2.0938, 1.7096])
    {
        close(*found, wanted, 5e-5);
    }
    // The same limit at each look (Pocock).
    close(exit_probability(&[2.2895; 3]), 0.05, 1e-5);
    close(o_brien_fleming(1, 0.05)[0], 1.959_964, 1e-6);
    assert!(o_brien_fleming(0, 0.05).is_empty());
}

/// The toy of the contrasts: s0 = 0.1317691 from 5 placebos; `m` equally long checks.
#[test]
fn the_least_difference_falls_with_the_root_of_the_checks() {
    let scatter = Scatter {
        sd: 0.131_769_1,
        degrees_of_freedom: 2.5,
        placebos: 5,
        mean_weight: 8.0,
        mean: 0.0,
        mean_t: 0.0,
    };
    for (checks, wanted) in [(2, 0.332_483), (4, 0.235_101), (6, 0.191_959)] {
        let checks = vec![
            Contrast {
                gain: 0.0,
                weight: 8.0
            };
            checks
        ];
        close(least_difference(&checks, &scatter).unwrap(), wanted, 1e-6);
    }
    assert_eq!(strips_needed(4, 0.3, 0.2), 9);
    assert_eq!(strips_needed(4, 0.2, 0.2), 4);
}
